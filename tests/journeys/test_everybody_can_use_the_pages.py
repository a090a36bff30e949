"""Can everybody read and work the pages? Each is looked through in a browser by the rules of shared/axe."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from simrun.answers.evidence.check_kinds import Check
from simrun.answers.evidence.page import page_of as evidence_page
from simrun.answers.evidence.sections import Shown
from simrun.cli import main
from simrun.pages.frame import write_page
from simrun.pages.page import Page as Written
from simrun.pages.page import Part, Table
from simrun.pictures.replay.replay_page import write_page as write_replay
from tests.helpers.recordings import shipped
from tests.helpers.seen_page import broken

TOP = Path(__file__).parents[2]
DUAL, FEN = (str(TOP / "scenarios" / f"{name}.toml") for name in ("dual_meet", "brindle_fen"))
SIZES = ((1366, 768), (390, 844), (844, 390), (1920, 1080))

ASKED = {
    "race": ["race", DUAL, "--no-gif", "--page"],
    "brief": ["brief", DUAL, "--minutes", "0.01", "--workers", "1"],
    "boxes": ["boxes", DUAL, "--seeds", "2", "--workers", "1"],
    "tactic": ["tactic", DUAL, "--seeds", "2", "--fresh", "5", "--workers", "1"],
    "side": ["side", DUAL, "--seeds", "2", "--workers", "1"],
    "layout": [
        *("layout", DUAL, "--vary", "throat=3:5:1", "--seeds", "4", "--until", "140"),
        *("--workers", "1"),
    ],
    "card": ["card", DUAL, "--seeds", "2", "--workers", "1"],
    "sheet": ["sheet", DUAL, "--seeds", "1", "--workers", "1"],
    "finish": ["finish", DUAL, "--seeds", "2", "--workers", "1"],
    "chase": ["chase", DUAL, "--seeds", "2", "--workers", "1"],
    "disturb": ["disturb", DUAL, "--at", "30", "--seeds", "2"],
    "sure": [
        *("sure", DUAL, "--seeds", "4", "--rows", "0", "--until", "140", "--workers", "1"),
    ],
    "preview": ["preview", DUAL, "--seeds", "1", "--workers", "1"],
    "check": ["check", DUAL],
    "learn": ["learn", DUAL, "--races", "200", "--until", "140", "--workers", "1"],
    "estimate": [
        *("estimate", "--width", "75 m", "--boxes", "30", "--runners", "7", "--straight", "150"),
        *("--throat", "6", "--offset", "15", "--turn", "right", "--box", "3", "--page"),
    ],
}


def looked_through(browser: Browser, file: Path, sizes: tuple[tuple[int, int], ...]) -> None:
    for wide, high in sizes:
        page = browser.new_page(viewport={"width": wide, "height": high})
        page.goto(file.as_uri())
        if file.name == "replay.html":
            page.wait_for_selector("body[data-ready]")
        assert broken(page) == [], (file.name, wide)
        if file.name == "replay.html":
            assert broken(page, "document.getElementById('view').click()") == [], wide
        page.close()


def test_the_replay_and_any_page_can_be_used(browser: Browser, tmp_path: Path) -> None:
    """The quick ones: the replay, and a page with a table wider than a phone."""
    replay = write_replay(shipped("dual_meet", 1), tmp_path / "replay.html")
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.goto(replay.as_uri())
    page.wait_for_selector("body[data-ready]")
    assert broken(page) == []
    page.close()
    table = Table(("", *"abcdefghij"), (("row", *["1234567890"] * 10),), "wide")
    plain = Written("a day: a page", "A sentence.", Part(text=("Words.",), tables=(table,)))
    written = write_page(plain, tmp_path / "plain.html")
    assert 'href="replay.html#to=most"' in written.read_text("utf-8")
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.goto(written.as_uri())
    assert broken(page) == []
    assert broken(page, "document.querySelector('.wide').tabIndex = -1"), "a rule can break"
    page.close()


@pytest.mark.slow
def test_everybody_can_use_the_report_card(browser: Browser, tmp_path: Path) -> None:
    """The page of `simrun evidence` with a figure met and one missed; its experiments would take minutes."""
    met = Check("flow", "B", 1.9, 1.7, 2.5, "1/s/m", "A source. (seen)", note="how")
    missed = replace(met, name="queue", measured=3.0, cause="bodies are round")
    shown = Shown("A crowd", ("Words.",), [met, missed], ())
    looked_through(
        browser, write_page(evidence_page([shown], True), tmp_path / "evidence.html"), SIZES[:2]
    )


@pytest.mark.slow
@pytest.mark.parametrize("name", list(ASKED))
def test_everybody_can_use_the_page_of(name: str, browser: Browser, tmp_path: Path) -> None:
    """As each command writes it, at the sizes of a laptop, a phone upright and aside, and a large screen."""
    assert main([*ASKED[name], "--quiet", "--out", str(tmp_path)]) == 0
    pages = sorted(tmp_path.rglob("*.html"))
    assert pages
    for file in pages:
        looked_through(browser, file, SIZES if file.name == "replay.html" else SIZES[:2])
