"""What several journeys need: a browser, and one walk through a course."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

import simrun
from simrun.answers.whole.preview.result import PreviewResult

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
def fen_walk(tmp_path_factory: pytest.TempPathFactory) -> PreviewResult:
    """The walk of one race of the entry list, in a folder with everything written."""
    folder = tmp_path_factory.mktemp("fen")
    result: PreviewResult = simrun.preview(simrun.read(FEN), folder=folder, seeds=[1], workers=1)
    result.save()
    return result
