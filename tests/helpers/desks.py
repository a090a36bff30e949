"""A desk to be asked: its app without a network, or a server of its own with a page in a real browser."""

from __future__ import annotations

import asyncio
import json
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Locator, Page

from simrun.desk.desk_app import desk_app

TOP = Path(__file__).parents[2]
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
TOKEN, PORT = "a-token-of-the-tests", 54321
OWN = {"host": f"127.0.0.1:{PORT}", "origin": f"http://127.0.0.1:{PORT}"}


def folder_with(where: Path, *names: str) -> Path:
    """A folder with these shipped scenarios and the lists and drawings beside them."""
    where.mkdir(exist_ok=True)
    for name in names:
        for path in (TOP / "scenarios").glob(f"{name}*"):
            shutil.copyfile(path, where / path.name)
    return where


class Asker:
    """Asks the desk's app as a browser would: status, heads and body come back."""

    def __init__(self, folder: Path) -> None:
        self.app, self.hands = desk_app(folder, TOKEN, PORT)

    def raw(
        self,
        method: str,
        path: str,
        heads: Mapping[str, str] = OWN,
        body: bytes = b"",
        query: str = "",
    ) -> tuple[int, dict[str, str], bytes]:
        """One request as it is given, nothing added."""
        return asyncio.run(self._asked(method, path, heads, body, query))

    async def _asked(
        self, method: str, path: str, heads: Mapping[str, str], body: bytes, query: str
    ) -> tuple[int, dict[str, str], bytes]:
        sent: list[Any] = []
        parts = [body[i : i + 65536] for i in range(0, len(body), 65536)] or [b""]

        async def receive() -> dict[str, Any]:
            if not parts:
                return {"type": "http.disconnect"}
            part = parts.pop(0)
            return {"type": "http.request", "body": part, "more_body": bool(parts)}

        async def send(message: Any) -> None:
            sent.append(message)

        scope = {
            "type": "http",
            "method": method,
            "path": path,
            "raw_path": path.encode(),
            "query_string": query.encode(),
            "headers": [(k.encode(), v.encode()) for k, v in heads.items()],
            "http_version": "1.1",
            "scheme": "http",
            "server": ("127.0.0.1", PORT),
            "client": ("127.0.0.1", 1),
            "root_path": "",
        }
        await self.app(scope, receive, send)
        told = {k.decode(): v.decode() for k, v in sent[0]["headers"]}
        return sent[0]["status"], told, b"".join(m.get("body", b"") for m in sent[1:])

    def post(self, name: str, /, **asked: Any) -> tuple[int, Any]:
        """What the page's own scripts post."""
        body = json.dumps(asked).encode()
        heads = {**OWN, "content-type": "application/json", "content-length": str(len(body))}
        status, _, told = self.raw("POST", f"/{TOKEN}/{name}", heads, body)
        return status, json.loads(told)

    def get(self, name: str, query: str = "") -> tuple[int, Any]:
        """What the page's own scripts get."""
        status, _, told = self.raw("GET", f"/{TOKEN}/{name}", OWN, b"", query)
        return status, json.loads(told)


@contextmanager
def open_desk(folder: Path) -> Iterator[str]:
    """`simrun desk FOLDER` in a process of its own; gives the address, closes it afterwards."""
    words = [sys.executable, "-m", "simrun", "desk", str(folder), "--no-browser", "--workers", "1"]
    env = {**os.environ, "PYTHONPATH": str(TOP), "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(words, env=env, stdout=subprocess.PIPE, text=True, cwd=TOP) as desk:
        try:
            assert desk.stdout is not None
            said = desk.stdout.readline()
            found = re.search(r"http://127\.0\.0\.1:\d+/[\w-]+/", said)
            assert found, said
            yield found[0]
        finally:
            desk.terminate()
            desk.wait(timeout=30)


def until(page: Page, expression: str, arg: object = None, timeout: float = 30_000) -> None:
    """Wait until this is so in the page. The usual way needs `eval`, which the page's policy forbids."""
    begun = time.monotonic()
    while not page.evaluate(expression, arg):
        assert time.monotonic() - begun < timeout / 1000, f"still not so: {expression}"
        page.wait_for_timeout(40)


@contextmanager
def page_of(browser: Browser, address: str, link: str = "", **size: Any) -> Iterator[Page]:
    """The desk's page, ready; fails afterwards where anything went wrong in it, or it asked elsewhere."""
    context = browser.new_context(**({"viewport": {"width": 1366, "height": 800}} | size))
    page = context.new_page()
    wrong: list[str] = []
    asked: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(address + link, timeout=120_000)
    page.wait_for_selector("body[data-ready]", timeout=120_000)
    yield page
    assert wrong == []
    assert [url for url in asked if not url.startswith((address, "blob:", "about:"))] == []
    context.close()


def pasted(page: Page, field: str, text: str) -> None:
    """The text as it comes from a spreadsheet, into a field, by the clipboard's own event."""
    page.fill(field, text.replace(",", "\t"))


def dragged(page: Page, what: str, by: tuple[int, int]) -> None:
    """A handle taken with the mouse and let go somewhere else."""
    box = page.locator(what).first.bounding_box()
    assert box
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, 9):
        page.mouse.move(x + by[0] * step / 8, y + by[1] * step / 8)
    page.mouse.up()


def settled(page: Page) -> None:
    """Until the last change has been carried out and nothing was refused."""
    page.wait_for_timeout(100)
    until(page, "document.body.dataset.busy !== 'yes'")
    assert page.is_hidden("#told") or "refused" not in (
        page.get_attribute("#told", "class") or ""
    ), page.text_content("#told")


def typed(page: Page, field: str, value: str) -> None:
    """A number typed into a row, and what it changes waited for."""
    page.fill(field, value)
    page.press(field, "Tab")
    settled(page)


def run_to_the_sheet(page: Page) -> Page:
    """The races are run, the sentence is read, the sheet is made and opened as it is printed."""
    page.click("#step-answer")
    page.fill("#minutes", "0.05")
    page.click("#run")
    page.wait_for_selector("#sentence", timeout=400_000)
    page.click("#run-sheet")
    sheet = page.get_by_role("link", name="The sheet, to print or for the phone")
    sheet.wait_for(timeout=400_000)
    return opened_by(page, sheet)


def opened_by(page: Page, link: Locator) -> Page:
    """The page behind a link, and that it prints."""
    with page.context.expect_page() as opened:
        link.click()
    opened.value.wait_for_load_state()
    assert opened.value.pdf()[:5] == b"%PDF-"
    return opened.value
