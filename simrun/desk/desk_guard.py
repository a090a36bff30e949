"""Who is let in? Only pages of this desk, on this machine, that know its token; and nothing too large.

A page of another origin that somebody has open may ask for any address. It does not know the token, its
browser sends along where it comes from, and a name that was made to point at this machine is not this
machine's name. Each of these alone closes the door. Check: tests/journeys/test_desk_security.py.
"""

from __future__ import annotations

import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]

LARGEST_JSON_BYTES = 8_000_000
LARGEST_TRACK_BYTES = 20_000_000
TRACK_TYPE = "application/octet-stream"

PAGE_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "connect-src 'self'",
        "frame-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
ANSWER_POLICY = "; ".join(
    (
        # An answer may run its own script, as it does from disk, but as a page of no origin: it cannot
        # ask the desk for anything.
        "sandbox allow-scripts allow-modals allow-popups allow-popups-to-escape-sandbox",
        "connect-src 'none'",
        "form-action 'none'",
        "base-uri 'none'",
        "frame-ancestors 'self'",
    )
)
ALWAYS = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cache-control": "no-store",
    "cross-origin-resource-policy": "same-origin",
}


class Guard:
    """Stands before the desk: lets through what comes from its own page, and bounds it."""

    def __init__(self, app: Any, token: str, port: int) -> None:
        self.app, self.token = app, token
        self.hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self.origins = {f"http://{host}" for host in self.hosts}

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        """Answer or refuse one request."""
        if scope["type"] != "http":
            return
        heads = {key.decode("latin-1"): value.decode("latin-1") for key, value in scope["headers"]}
        status = self.refused(scope["method"], scope["path"], heads)
        if status:
            await _refuse(send, status)
            return
        most = largest(heads)
        if int(heads.get("content-length", "0") or 0) > most:
            await _refuse(send, 413)
            return
        scope["path"] = scope["path"][1 + len(self.token) :]
        scope["raw_path"] = scope["path"].encode()
        await self.app(scope, _bounded(receive, most), _with_heads(send, scope["path"]))

    def refused(self, method: str, path: str, heads: MutableMapping[str, str]) -> int:
        """With which status is this refused? 0: it is let in."""
        if heads.get("host", "") not in self.hosts:
            return 403
        given = path[1 : 2 + len(self.token)]
        if not secrets.compare_digest(given.encode(), f"{self.token}/".encode()):
            return 404
        if method not in ("GET", "POST"):
            return 405
        inside = path[1 + len(self.token) :]
        return self._foreign(method, inside, heads) or _badly_made(method, heads)

    def _foreign(self, method: str, inside: str, heads: MutableMapping[str, str]) -> int:
        origin, site = heads.get("origin"), heads.get("sec-fetch-site", "same-origin")
        # An answer links to another one, and it is a page of no origin.
        between_answers = method == "GET" and inside.startswith("/out/")
        if site not in ("same-origin", "none") and not between_answers:
            return 403
        if method == "POST" and origin not in self.origins:
            return 403
        return 403 if origin is not None and origin not in self.origins else 0


def _badly_made(method: str, heads: MutableMapping[str, str]) -> int:
    if method != "POST":
        return 0
    if not heads.get("content-length", "").isdecimal():
        return 411
    kind = heads.get("content-type", "").partition(";")[0].strip()
    return 0 if kind in ("application/json", TRACK_TYPE) else 415


def largest(heads: MutableMapping[str, str]) -> int:
    """How many bytes may a request of this kind have?"""
    is_track = heads.get("content-type", "").startswith(TRACK_TYPE)
    return LARGEST_TRACK_BYTES if is_track else LARGEST_JSON_BYTES


def _bounded(receive: Receive, most: int) -> Receive:
    """No more than so much is read, whatever the request said of itself."""
    had = 0

    async def some() -> Message:
        nonlocal had
        message = await receive()
        had += len(message.get("body", b""))
        if had > most:
            return {"type": "http.disconnect"}
        return message

    return some


def _with_heads(send: Send, path: str) -> Send:
    policy = ANSWER_POLICY if path.startswith("/out/") else PAGE_POLICY
    plain = path.endswith((".pdf", ".csv", ".png"))
    heads = {**ALWAYS, **({} if plain else {"content-security-policy": policy})}

    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            extra = [(key.encode(), value.encode()) for key, value in heads.items()]
            message["headers"] = [*message.get("headers", []), *extra]
        await send(message)

    return sent


async def _refuse(send: Send, status: int) -> None:
    heads = [(b"content-type", b"text/plain"), (b"connection", b"close")]
    heads += [(key.encode(), value.encode()) for key, value in ALWAYS.items()]
    await send({"type": "http.response.start", "status": status, "headers": heads})
    await send({"type": "http.response.body", "body": b""})
