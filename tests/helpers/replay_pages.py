"""A replay page in a real browser, which must go wrong nowhere and ask for nothing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page

from simrun.cli import main
from simrun.engine.run import run_race
from simrun.scenario.reader import read
from simrun.state.recording_file import save

TOP = Path(__file__).parents[2]


def two_plans(where: Path) -> Path:
    """Two plans of one race day, saved as recordings, and the page that shows one over the other."""
    day = read(TOP / "scenarios" / "ferry_meadow.toml").changed({"clock.limit": 100})
    save(run_race(day, 2), where / "inside.npz")
    save(run_race(day.changed({"teams.Alderbrook.line": "outside"}), 2), where / "outside.npz")
    words = [str(where / "inside.npz"), "--page", "--beside", str(where / "outside.npz")]
    assert main(["replay", *words, "--out", str(where)]) == 0
    return where


def opened(browser: Browser, file: Path, link: str = "", **size: Any) -> Iterator[Page]:
    """The page, ready; fails afterwards where anything went wrong in it or it asked for anything."""
    page = browser.new_page(**size)
    wrong: list[str] = []
    asked: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda told: wrong.append(told.text) if told.type == "error" else None)
    page.on("request", lambda request: asked.append(request.url))
    page.goto(f"{file.as_uri()}{link}")
    page.wait_for_selector("body[data-ready]")
    yield page
    assert wrong == []
    assert [url for url in asked if not url.startswith(("file:", "data:", "blob:"))] == []
    page.close()
