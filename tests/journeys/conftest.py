"""What several journeys need: a browser, and the replay page of two plans."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from simrun.state.recording import Recording
from simrun.state.recording_file import load
from tests.helpers.replay_pages import opened, two_plans

CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Debian's own, for as long as a module's tests run."""
    with sync_playwright() as engine:
        opened = engine.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield opened
        opened.close()


@pytest.fixture(scope="session")
def replay_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the recordings `inside.npz` and `outside.npz` and their page, `replay.html`."""
    return two_plans(tmp_path_factory.mktemp("page"))


@pytest.fixture(scope="session")
def recording(replay_folder: Path) -> Recording:
    """The race of that page."""
    return load(replay_folder / "inside.npz")


@pytest.fixture
def page(browser: Browser, replay_folder: Path) -> Iterator[Page]:
    """That page, ready."""
    yield from opened(browser, replay_folder / "replay.html")
