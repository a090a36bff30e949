"""The replay page worked by hand in a real browser: played, scrubbed, by keys, by links, by names."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect

from simrun.engine.run import run_race
from simrun.pictures.replay.replay_page import write_page
from simrun.scenario.reader import read
from simrun.state.account import lost_so_far
from simrun.state.recording import Recording
from tests.helpers.replay_pages import opened

TOP = Path(__file__).parents[2]
HOSTILE = "<img src=x onerror=\"document.title='run'\">"


def test_it_plays_pauses_and_scrubs(page: Page) -> None:
    page.get_by_role("button", name="play", exact=True).click()
    for _ in range(100):
        page.wait_for_timeout(50)
        if page.evaluate("replay.state.t") > 0.3:
            break
    assert page.evaluate("replay.state.t") > 0.3
    page.get_by_role("button", name="pause").click()
    stopped = page.evaluate("replay.state.t")
    page.wait_for_timeout(120)
    assert page.evaluate("replay.state.t") == stopped
    page.get_by_label("Moment of the race").fill("42.5")
    assert page.evaluate("replay.state.t") == 42.5
    assert page.locator("#clock").inner_text() == "0:42.5"


def test_keys_do_what_the_help_says(page: Page) -> None:
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    assert page.evaluate("replay.state.t") == 11
    page.keyboard.press("n")
    assert page.evaluate("replay.state.follow.kind") == "runner"
    page.keyboard.press("e")
    assert page.locator("#eye").is_visible()
    assert not page.locator("#map").is_visible()
    page.keyboard.press("m")
    before = page.evaluate("replay.map.camera.scale")
    page.keyboard.press("+")
    assert page.evaluate("replay.map.camera.scale") == pytest.approx(1.3 * before, rel=1e-6)
    page.keyboard.press("d")
    assert page.evaluate("replay.map.camera.free")
    page.keyboard.press("0")
    assert not page.evaluate("replay.map.camera.free")
    page.keyboard.press(" ")
    assert page.evaluate("replay.state.playing")


def test_keys_live_after_any_click_and_play_begins_again(page: Page) -> None:
    """After a choice by mouse, a tick and a button; at the end play starts over."""
    page.get_by_label("colour").click()
    page.get_by_label("colour").select_option("team")
    page.locator("#trails").click()
    page.keyboard.press("ArrowRight")
    assert page.evaluate("replay.state.t") == 1
    page.get_by_role("button", name="one second on").click()
    page.keyboard.press(" ")
    assert page.evaluate("replay.state.playing")
    page.keyboard.press(" ")
    page.keyboard.press("End")
    page.keyboard.press(" ")
    assert page.evaluate("replay.state.playing")
    assert page.evaluate("replay.state.t") < 5


IN_VIEW = """id => {
    const box = document.getElementById(id).getBoundingClientRect();
    return box.top >= 0 && box.bottom <= innerHeight && box.left >= 0 && box.right <= innerWidth;
}"""
MAP_HIGH = "document.getElementById('map').clientHeight"


@pytest.mark.parametrize(("wide", "high"), [(390, 844), (844, 390), (1366, 768), (1920, 1080)])
def test_full_screen_is_entered_and_left_and_keys_live(
    browser: Browser, replay_folder: Path, wide: int, high: int
) -> None:
    """By the button and by its key: the picture is larger where there is room, ribbon and play stay in view,
    nothing sticks out, ours stay in the picture, and left again all is as before."""
    size = {"width": wide, "height": high}
    for page in opened(browser, replay_folder / "replay.html", viewport=size):
        before = page.evaluate(MAP_HIGH)
        page.evaluate("document.getElementById('more').open = true")
        page.get_by_role("button", name="full screen").click()
        expect(page.locator("#full")).to_have_text("leave full screen")
        assert page.evaluate("document.fullscreenElement.id") == "replay"
        page.evaluate("document.fullscreenElement.scrollTop = 0")
        assert page.evaluate(MAP_HIGH) > 1.1 * before or wide < 900
        for part in ("map", "ribbon", "play", "clock"):
            assert page.evaluate(IN_VIEW, part), part
        assert page.evaluate("document.fullscreenElement.scrollWidth") <= wide
        page.keyboard.press("ArrowRight")
        assert page.evaluate("replay.state.t") == 1
        there, seen = page.evaluate("replay.map.inView(replay.state)")
        assert there == seen == 7
        page.keyboard.press(" ")
        assert page.evaluate("replay.state.playing")
        page.keyboard.press("e")
        assert page.locator("#eye").is_visible()
        page.keyboard.press("m")
        page.keyboard.press("g")
        expect(page.locator("#full")).to_have_text("full screen")
        assert not page.evaluate("document.fullscreenElement")
        assert page.evaluate(MAP_HIGH) == before


def test_a_runner_is_found_by_typing(page: Page, recording: Recording) -> None:
    """A part of a name that only one bears; letters typed there are no keys."""
    name = recording.roster.name[40]
    page.get_by_label("find a runner").fill(name)
    assert page.evaluate("replay.state.follow") == {"kind": "runner", "index": 40}
    page.get_by_label("find a runner").press("e")
    assert page.evaluate("replay.state.view") == "map"


def test_a_click_on_where_it_was_lost_goes_to_that_moment(page: Page, recording: Recording) -> None:
    """The runner whose line was clicked is then where the line is."""
    spot = page.evaluate(
        """() => {
            const view = replay.lostAt, runner = replay.races[0].mine[3];
            view.scales(replay.state);
            const [metres, lost, t] = view.line(replay.races[0], runner)[50];
            return [view.x(metres), view.y(lost), t, metres, runner];
        }"""
    )
    page.locator("#lost-at").scroll_into_view_if_needed()
    page.locator("#lost-at").click(position={"x": spot[0], "y": spot[1]})
    now = page.evaluate("replay.state.t")
    here = page.evaluate("([t, i]) => replay.races[0].stationAt(t, i)", [now, spot[4]])
    assert abs(here - spot[3]) < 25, "another of ours may be the nearest line"
    assert now > 10


def test_a_link_leads_to_its_moment(browser: Browser, replay_folder: Path) -> None:
    """Time, whom to follow, view and colour out of the address."""
    link = "#t=33.5&follow=runner:5&view=eye&colour=lost"
    for page in opened(browser, replay_folder / "replay.html", link):
        now = page.evaluate("[replay.state.t, replay.state.follow.index, replay.state.view]")
        assert now == [33.5, 5, "eye"]
        assert page.evaluate("replay.state.colour") == "lost"
        page.get_by_role("button", name="link to this moment").click()
        assert page.evaluate("location.hash").startswith("#at=33.5&")


@pytest.mark.parametrize(("link", "second"), [("#at=75.0", 75.0), ("#at=9999", None), ("#at=x", 0)])
def test_a_report_leads_to_its_moment(
    browser: Browser, replay_folder: Path, recording: Recording, link: str, second: float | None
) -> None:
    """As race.html links: the page opens at that second, and goes to another when the address changes."""
    for page in opened(browser, replay_folder / "replay.html", link):
        last = float(recording.times_s[-1])
        expected = pytest.approx(last if second is None else second, abs=0.11)
        assert page.evaluate("replay.state.t") == expected
        page.evaluate("location.hash = '#at=12.5'")
        page.wait_for_function("replay.state.t === 12.5")
        assert page.locator("#clock").inner_text() == "0:12.5"


def test_a_page_beside_it_leads_to_where_most_was_lost(
    browser: Browser, replay_folder: Path, recording: Recording
) -> None:
    """No ten seconds cost ours more than those that begin just after; and a place by its name."""
    ours = np.flatnonzero(recording.roster.team == "Alderbrook")
    lost = lost_so_far(recording).lost_s[:, ours].sum(axis=1)
    for page in opened(browser, replay_folder / "replay.html", "#to=most"):
        begin = round(10 * (page.evaluate("replay.state.t") + 3))
        rise = lost[100:] - lost[:-100]
        assert rise[begin] >= np.nanmax(rise) - 0.5
        page.evaluate(
            "location.hash = '#to=' + encodeURIComponent(replay.map.ground.gates[0].name)"
        )
        page.wait_for_timeout(50)
        first = max(
            page.evaluate(
                "replay.races[0].mine.map(i => replay.races[0].stationAt(replay.state.t + 3, i))"
            )
        )
        assert abs(first - page.evaluate("replay.map.ground.gates[0].station")) < 6


def test_a_strange_link_is_no_trouble(browser: Browser, replay_folder: Path) -> None:
    for page in opened(
        browser, replay_folder / "replay.html", "#t=oops&follow=runner:9999&view=x&colour=y"
    ):
        assert page.evaluate("replay.state.t") == 0
        assert page.evaluate("replay.state.view") == "map"


def test_names_stay_names(browser: Browser, tmp_path: Path) -> None:
    """A team called like markup is shown as text and runs nothing."""
    day = read(TOP / "scenarios" / "dual_meet.toml").changed({"clock.limit": 20})
    named = day.changed({"teams.Millbrook.name": HOSTILE}, name="</script><b>day")
    path = write_page(run_race(named, 1), tmp_path / "replay.html")
    for page in opened(browser, path):
        page.wait_for_timeout(50)
        assert page.title() == "</script><b>day: replay"
        assert page.locator("img").count() == 0
        assert HOSTILE in page.locator("table").inner_text()


def test_the_way_in_is_shown_with_nobody_on_it(page: Page) -> None:
    """A still where 1000, 400, 200 and 100 m are left; a click rides along from a little before."""
    page.locator("#rehearsal summary").click()
    stills = page.locator("#stills button")
    stills.nth(3).wait_for()
    said = [text.strip() for text in stills.all_inner_texts()]
    assert said == [f"{left} m to go" for left in (1000, 400, 200, 100)]
    stills.nth(0).click()
    assert page.locator("#eye").is_visible()
    page.get_by_label("names").uncheck()
    assert page.evaluate("replay.state.names") is False
