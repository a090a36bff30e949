"""The desk is opened: a socket of this machine alone, an address that nobody can guess, a small server."""

from __future__ import annotations

import secrets
import socket
from pathlib import Path

from simrun.answers.kind import Asked, Progress
from simrun.base.errors import BadInput, CannotWrite, Problem
from simrun.base.writing import ready_folder
from simrun.desk.result import OpenDesk

LOOPBACK = "127.0.0.1"
TOKEN_BYTES = 24


def answer(asked: Asked, progress: Progress) -> list[OpenDesk]:
    """What `simrun desk` does; the page is served once its address has been said (`OpenDesk.stay`)."""
    return [open_desk(asked.folder, asked.port, asked.workers, browser=not asked.no_browser)]


def open_desk(
    folder: Path, port: int = 0, workers: int | None = None, *, browser: bool = False
) -> OpenDesk:
    """A desk over the scenarios of a folder, ready to be served.

    Raises BadInput where there is no such folder or the port is taken, CannotWrite where nothing can be
    written there. Check: tests/journeys/test_desk.py.
    """
    if not folder.is_dir():
        raise BadInput(Problem("folder", f"no folder {str(folder)!r}", "a folder that exists"))
    ready_folder(folder)
    try:
        listening = socket.create_server((LOOPBACK, port))
    except OSError as refused:
        raise CannotWrite(f"port {port}: {refused.strerror or refused}") from None
    token = secrets.token_urlsafe(TOKEN_BYTES)
    return OpenDesk(folder.resolve(), listening, token, workers, browser)
