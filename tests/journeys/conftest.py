"""What several journeys need: a browser, and the door."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests.helpers.doors import Door, code_of

CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Debian's own, for as long as a module's tests run."""
    with sync_playwright() as engine:
        opened = engine.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield opened
        opened.close()


@pytest.fixture
def door(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Door:
    """The door in this process; `test_the_program_is_the_door` holds it against one of its own."""

    def opened(*words: str, folder: Path) -> subprocess.CompletedProcess[str]:
        monkeypatch.chdir(folder)
        code, told = code_of(list(words)), capsys.readouterr()
        return subprocess.CompletedProcess(words, code, told.out, told.err)

    return opened
