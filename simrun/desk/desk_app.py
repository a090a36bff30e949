"""What may the page ask? Every request by its address, read, carried out, and told in plain values."""

from __future__ import annotations

import json
import traceback
from collections.abc import Callable, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from simrun.base.errors import CannotWrite, SimrunError
from simrun.desk.day_view import problem_lines
from simrun.desk.desk_guard import LARGEST_JSON_BYTES, LARGEST_TRACK_BYTES, Guard
from simrun.desk.desk_hands import Hands
from simrun.desk.kept_day import ChangedElsewhere
from simrun.desk.shelf import NotHere
from simrun.desk.words import NOT_READ, TOO_LARGE, UNEXPECTED
from simrun.desk.work.desk_jobs import Busy
from simrun.scenario.in_text.kept_orders import OrdersLost

WEB = Path(__file__).parent / "web"
WEB_TYPES = {
    ".js": "text/javascript",
    ".css": "text/css",
    ".html": "text/html",
    ".svg": "image/svg+xml",
}
WEB_FILES = {path.name: path for path in WEB.iterdir() if path.suffix in WEB_TYPES}
MEGA = 1_000_000

Asked = Mapping[str, Any]


def desk_app(
    folder: Path, token: str, port: int, workers: int | None = None
) -> tuple[Guard, Hands]:
    """The desk's server and the hands behind it. Check: tests/journeys/test_desk_security.py."""
    hands = Hands(folder, workers)
    posts: dict[str, Callable[[Asked], Any]] = {
        "change": hands.change,
        "try": hands.tried,
        "race": hands.race,
        "undo": hands.undo,
        "redo": hands.redo,
        "look": hands.look,
        "lists": hands.lists,
        "drawn": hands.drawn,
        "copy": hands.copy,
        "run": hands.run,
        "stop": hands.stop,
        "crew": hands.crew,
        "estimate": hands.estimate,
        "first": hands.first,
        "drop": hands.drop,
    }
    gets: dict[str, Callable[[Asked], Any]] = {
        "days": hands.days,
        "day": hands.day,
        "splits": hands.splits,
        "books": hands.books,
        "job": hands.job,
        "estimate": hands.estimated,
    }
    routes = [
        Route("/", _web_file("index.html")),
        *(Route(f"/web/{name}", _web_file(name)) for name in WEB_FILES),
        *(Route(f"/{name}", _got(hand), methods=["GET"]) for name, hand in gets.items()),
        *(Route(f"/{name}", _posted(hand), methods=["POST"]) for name, hand in posts.items()),
        Route("/track", _sent_file(hands.track), methods=["POST"]),
        Route("/map", _sent_file(hands.map), methods=["POST"]),
        Route("/out/{stem}/{name}", _answer_file(hands), methods=["GET"]),
    ]
    app = Starlette(routes=routes)
    app.router.redirect_slashes = False
    return Guard(app, token, port), hands


def _web_file(name: str) -> Callable[[Request], Response]:
    path = WEB_FILES[name]

    def sent(request: Request) -> Response:
        return Response(path.read_bytes(), media_type=WEB_TYPES[path.suffix])

    return sent


def _got(hand: Callable[[Asked], Any]) -> Callable[[Request], Response]:
    def told(request: Request) -> Response:
        return _carried_out(hand, dict(request.query_params))

    return told


def _posted(hand: Callable[[Asked], Any]) -> Any:
    async def told(request: Request) -> Response:
        try:
            asked = json.loads(await request.body())
        except ClientDisconnect:
            return _too_large(LARGEST_JSON_BYTES)
        except (ValueError, RecursionError):
            asked = None
        if not isinstance(asked, dict):
            return _refused(400, [NOT_READ])
        return await run_in_threadpool(_carried_out, hand, asked)

    return told


def _sent_file(hand: Callable[[Asked], Any]) -> Any:
    async def told(request: Request) -> Response:
        try:
            data = await request.body()
        except ClientDisconnect:
            return _too_large(LARGEST_TRACK_BYTES)
        asked = dict(request.query_params) | {"data": data}
        return await run_in_threadpool(_carried_out, hand, asked)

    return told


def _answer_file(hands: Hands) -> Callable[[Request], Response]:
    def sent(request: Request) -> Response:
        try:
            path = hands.shelf.answer(request.path_params["stem"], request.path_params["name"])
        except NotHere as wrong:
            return _refused(404, [str(wrong)])
        return FileResponse(path)

    return sent


def _carried_out(hand: Callable[[Asked], Any], asked: Asked) -> Response:
    """The answer, or what is wrong in plain lines; nobody is shown the inside of the program."""
    try:
        return JSONResponse(hand(asked))
    except ChangedElsewhere as wrong:
        return _refused(409, [str(wrong)])
    except Busy as wrong:
        return _refused(423, [str(wrong)])
    except NotHere as wrong:
        return _refused(404, [str(wrong)])
    except CannotWrite as wrong:
        return _refused(507, [str(wrong)])
    except OrdersLost as wrong:
        lost = [asdict(order) for order in wrong.orders]
        return JSONResponse({"told": problem_lines(wrong), "lost": lost}, status_code=422)
    except SimrunError as wrong:
        return _refused(422, problem_lines(wrong))
    except Exception:
        traceback.print_exc()
        return _refused(500, [UNEXPECTED])


def _too_large(most: int) -> Response:
    return _refused(413, [TOO_LARGE.format(most=most // MEGA)])


def _refused(status: int, lines: list[str]) -> Response:
    return JSONResponse({"told": lines}, status_code=status)
