"""A picture on any page leads to its moment in the replay beside it; where there is none, nowhere."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from simrun.answers.to_watch import GUN, to_watch
from simrun.cli import main
from simrun.pages.frame import html_of, write_page
from simrun.pages.page import Figure, Page, Part
from simrun.pictures.replay.replay_page import write_page as write_replay
from tests.helpers.recordings import SHIPPED, shipped

DOT = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de"
    "0000000c49444154789c63606060000000040001f61738550000000049454e44ae426082"
)
BOTH = Figure(DOT, "a picture")


def links(html: str) -> list[str]:
    return re.findall(r'href="(replay\.html#a[^"]*)"', html.partition("<footer>")[0])


@pytest.fixture
def page() -> Page:
    """Two pictures of the dual meet, the second folded away."""
    day = shipped("dual_meet", 1).scenario
    gate = Part("more", figures=(to_watch(BOTH, day, "gate", "no such place"),))
    return Page("day: page", "A sentence.", Part(figures=(to_watch(BOTH, day),)), folded=(gate,))


def test_without_a_replay_of_this_race_there_is_no_link(page: Page, tmp_path: Path) -> None:
    """None beside, or one of another race: no dead link, and none that leads to strangers."""
    assert links(html_of(page)) == []
    write_replay(shipped("ferry_meadow", 1), tmp_path / "replay.html")
    assert links(write_page(page, tmp_path / "page.html").read_text("utf-8")) == []


def test_every_picture_leads_to_its_moment(page: Page, browser: Browser, tmp_path: Path) -> None:
    """Followed one by one: the gun, then the first of ours is about to come to the place that is named."""
    recording = shipped("dual_meet", 1)
    write_replay(recording, tmp_path / "replay.html")
    path = write_page(page, tmp_path / "page.html")
    assert len(links(path.read_text("utf-8"))) == 4 + 1, "gun, narrowing, turn, last mark; the gate"
    shown = browser.new_page()
    shown.goto(path.as_uri())
    shown.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    for number in range(shown.locator("figcaption a").count()):
        link = shown.locator("figcaption a").nth(number)
        words = link.inner_text()
        link.click()
        shown.wait_for_selector("body[data-ready]")
        now = shown.evaluate("replay.state.t")
        if words == GUN:
            assert now == 0
        else:
            along = float((shown.evaluate("location.hash")).partition("=")[2])
            ahead = (
                "replay.races[0].mine.map(i => replay.races[0].stationAt(replay.state.t + 3, i))"
            )
            assert max(shown.evaluate(ahead)) == pytest.approx(along, abs=6), words
        shown.go_back()
        shown.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    shown.close()


@pytest.mark.slow
@pytest.mark.parametrize("name", ["dual_meet", "brindle_fen"])
def test_pages_of_a_folder_lead_into_its_replay(name: str, tmp_path: Path) -> None:
    """As the commands write them, one after the other into one folder."""
    day, out = str(SHIPPED / f"{name}.toml"), ["--quiet", "--out", str(tmp_path)]
    assert main(["race", day, "--no-gif", "--page", *out]) == 0
    assert main(["check", day, *out]) == 0
    assert main(["side", day, "--seeds", "2", "--workers", "1", *out]) == 0
    found = {
        file: links((tmp_path / file).read_text("utf-8")) for file in ("check.html", "side.html")
    }
    assert found["check.html"] == ["replay.html#at=0.0"]
    assert len(found["side.html"]) == 4
