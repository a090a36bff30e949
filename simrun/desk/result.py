"""An open desk: its address, and the server behind it."""

from __future__ import annotations

import socket
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.kind import Progress, Result
from simrun.desk.words import open_words

if TYPE_CHECKING:
    import pandas

GRACE_S = 2
"""A request that is under way when the desk is closed is waited for so long."""


@dataclass(frozen=True)
class OpenDesk(Result):
    """A socket that listens on this machine alone, and the token without which nothing is answered."""

    folder: Path
    listening: socket.socket
    token: str
    workers: int | None = None
    browser: bool = False
    units: str = "metric"

    @property
    def address(self) -> str:
        """Where the page is."""
        host, port = self.listening.getsockname()[:2]
        return f"http://{host}:{port}/{self.token}/"

    @property
    def subject(self) -> str:
        """The folder that it works on."""
        return self.folder.name

    @property
    def file(self) -> str:
        """The folder that it works on."""
        return str(self.folder)

    @property
    def sentence(self) -> str:
        """Where the desk is open."""
        return open_words(self.address)

    @property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """None: everything stands in the files."""
        return {}

    @property
    def figures(self) -> Mapping[str, Any]:
        """The address."""
        return {"address": self.address}

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """Nothing is written before somebody changes something."""
        return []

    def stay(self) -> None:
        """Serve the page until Ctrl-C."""
        import webbrowser

        import uvicorn

        from simrun.desk.desk_app import desk_app

        port = self.listening.getsockname()[1]
        app, desk = desk_app(self.folder, self.token, port, self.workers)
        config = uvicorn.Config(
            app,
            log_level="critical",
            access_log=False,
            server_header=False,
            date_header=False,
            lifespan="off",
            limit_concurrency=64,
            timeout_graceful_shutdown=GRACE_S,
        )
        if self.browser:
            webbrowser.open(self.address)
        try:
            uvicorn.Server(config).run(sockets=[self.listening])
        finally:
            desk.close()
