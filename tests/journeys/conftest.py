"""What several journeys need: a browser, the door, the replay page of two plans, and one walk."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

import simrun
from simrun.answers.whole.preview.result import PreviewResult
from simrun.state.recording import Recording
from simrun.state.recording_file import load
from tests.helpers.doors import Door, code_of
from tests.helpers.replay_pages import opened, two_plans

FEN = Path(__file__).parents[2] / "scenarios" / "brindle_fen.toml"

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


@pytest.fixture(scope="session")
def fen_walk(tmp_path_factory: pytest.TempPathFactory) -> PreviewResult:
    """The walk of one race of the entry list, in a folder with everything written."""
    folder = tmp_path_factory.mktemp("fen")
    result: PreviewResult = simrun.preview(simrun.read(FEN), folder=folder, seeds=[1], workers=1)
    result.save()
    return result


@pytest.fixture
def door(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Door:
    """The door in this process; `test_the_program_is_the_door` holds it against one of its own."""

    def opened(*words: str, folder: Path) -> subprocess.CompletedProcess[str]:
        monkeypatch.chdir(folder)
        code, told = code_of(list(words)), capsys.readouterr()
        return subprocess.CompletedProcess(words, code, told.out, told.err)

    return opened
