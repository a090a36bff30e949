"""The replay page in a real browser: played, scrubbed, followed, ridden along, linked, alone with itself."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from simrun.cli import main
from simrun.engine.run import run_race
from simrun.pictures.replay.replay_page import write_page
from simrun.scenario.reader import read
from simrun.state.recording import Recording
from simrun.state.recording_file import load, save

TOP = Path(__file__).parents[2]
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
HOSTILE = "<img src=x onerror=\"document.title='run'\">"
FOLLOWED = (240, 228, 66)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two plans of one race day, saved as recordings, and the page that shows one over the other."""
    where = tmp_path_factory.mktemp("page")
    day = read(TOP / "scenarios" / "ferry_meadow.toml").changed({"clock.limit": 100})
    save(run_race(day, 2), where / "inside.npz")
    save(run_race(day.changed({"teams.Alderbrook.line": "outside"}), 2), where / "outside.npz")
    words = [str(where / "inside.npz"), "--page", "--beside", str(where / "outside.npz")]
    assert main(["replay", *words, "--out", str(where)]) == 0
    return where


@pytest.fixture(scope="module")
def recording(folder: Path) -> Recording:
    return load(folder / "inside.npz")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as engine:
        opened = engine.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield opened
        opened.close()


@pytest.fixture
def page(browser: Browser, folder: Path) -> Iterator[Page]:
    yield from opened(browser, folder / "replay.html")


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


def test_positions_on_the_page_are_the_recordings(page: Page, recording: Recording) -> None:
    """Every runner in every tenth frame within the quantum of half a centimetre (and float32)."""
    frames = list(range(0, len(recording.times_s), 10))
    found = page.evaluate(
        """frames => frames.map(f => replay.races[0].runners.map((_, i) => {
            const spot = [0, 0];
            return replay.races[0].at(f * replay.races[0].frame_s, i, spot) ? spot : [null, null];
        }))""",
        frames,
    )
    shown = np.array(found, dtype=float)
    recorded = recording.position_m[frames]
    assert (np.isnan(shown) == np.isnan(recorded)).all()
    assert np.nanmax(np.abs(shown - recorded)) <= 0.0052


@pytest.mark.parametrize("second", [3, 30, 80])
def test_the_followed_runner_is_found_where_the_recording_says(
    page: Page, recording: Recording, second: int
) -> None:
    """Yellow pixels of the ring about the place on the canvas that belongs to the recorded position."""
    who = int(np.flatnonzero(recording.roster.team == "Alderbrook")[2])
    page.evaluate(f"replay.state.t = {second}")
    page.get_by_label("follow").select_option(f"runner:{who}")
    x, y = (float(v) for v in recording.position_m[second * 10, who])
    yellow = page.evaluate(
        """([x, y, ink]) => {
            const map = replay.map, [px, py] = map.screen(x, y);
            const ratio = map.canvas.width / map.canvas.clientWidth;
            const context = map.canvas.getContext("2d");
            const data = context.getImageData(px * ratio - 14, py * ratio - 14, 29, 29).data;
            let count = 0;
            for (let i = 0; i < data.length; i += 4) {
                if ([0, 1, 2].every(k => Math.abs(data[i + k] - ink[k]) < 12)) count++;
            }
            return count;
        }""",
        [x, y, list(FOLLOWED)],
    )
    assert yellow > 20


def test_the_other_plan_lies_over_it(page: Page, folder: Path) -> None:
    """Ghosts are drawn in their own ink, and vanish when hidden."""
    other = load(folder / "outside.npz")
    assert page.evaluate("replay.races.length") == 2
    assert page.evaluate("replay.races[1].frames") == len(other.times_s)
    page.evaluate("replay.state.t = 70")
    page.get_by_label("follow").select_option("team:0")
    count = """() => {
        const data = replay.map.canvas.getContext("2d").getImageData(0, 0, 9999, 9999).data;
        let found = 0;
        for (let i = 0; i < data.length; i += 4) {
            if (Math.abs(data[i] - 163) + data[i + 1] + Math.abs(data[i + 2] - 92) < 30) found++;
        }
        return found;
    }"""
    assert page.evaluate(count) > 30
    page.get_by_label("other plan").select_option("off")
    assert page.evaluate(count) == 0


def test_riding_along_turns_no_head_at_once(page: Page, recording: Recording) -> None:
    """At eye height: people, course and sky are seen, and no tenth of a second turns by over 9 degrees."""
    who = int(np.flatnonzero(recording.roster.team == "Alderbrook")[3])
    page.evaluate("replay.state.t = 60")
    page.get_by_label("follow").select_option(f"runner:{who}")
    page.get_by_role("button", name="runner's eye").click()
    ways = np.array(page.evaluate(f"Array.from(replay.eye.heading({who}))")).reshape(-1, 2)
    turned = np.diff(np.unwrap(np.arctan2(ways[:, 1], ways[:, 0])))
    assert np.degrees(np.abs(turned)).max() < 9
    inks = page.evaluate(
        """() => {
            const canvas = replay.eye.canvas, found = new Set();
            const data = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
            for (let i = 0; i < data.length; i += 4) {
                found.add(data[i] << 16 | data[i + 1] << 8 | data[i + 2]);
            }
            return [0x626e76, 0xf8f5eb, 0xe6eef2].every(ink => found.has(ink));
        }"""
    )
    assert inks


def test_a_link_leads_to_its_moment(browser: Browser, folder: Path) -> None:
    """Time, whom to follow, view and colour out of the address."""
    link = "#t=33.5&follow=runner:5&view=eye&colour=lost"
    for page in opened(browser, folder / "replay.html", link):
        now = page.evaluate("[replay.state.t, replay.state.follow.index, replay.state.view]")
        assert now == [33.5, 5, "eye"]
        assert page.evaluate("replay.state.colour") == "lost"
        page.get_by_role("button", name="link to this moment").click()
        assert "t=33.5" in page.evaluate("location.hash")


def test_a_strange_link_is_no_trouble(browser: Browser, folder: Path) -> None:
    for page in opened(
        browser, folder / "replay.html", "#t=oops&follow=runner:9999&view=x&colour=y"
    ):
        assert page.evaluate("replay.state.t") == 0
        assert page.evaluate("replay.state.view") == "map"


def test_it_fits_a_phone(browser: Browser, folder: Path) -> None:
    """At 360 px nothing sticks out to the side, and every control has a name and is a thumb high."""
    for page in opened(browser, folder / "replay.html", viewport={"width": 360, "height": 740}):
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        for kind in ("button", "select"):
            for control in page.locator(kind).all():
                box = control.bounding_box()
                assert box
                assert box["height"] >= 36
                assert control.evaluate("c => (c.labels?.[0] ?? c).textContent || c.ariaLabel")


def test_names_stay_names(browser: Browser, tmp_path: Path) -> None:
    """A team called like markup is shown as text and runs nothing."""
    day = read(TOP / "scenarios" / "dual_meet.toml").changed({"clock.limit": 20})
    named = day.changed({"teams.Millbrook.name": HOSTILE}, name="</script><b>day")
    path = write_page(run_race(named, 1), tmp_path / "replay.html")
    for page in opened(browser, path):
        page.wait_for_timeout(50)
        assert page.title() == "</script><b>day: replay"
        assert page.locator("img").count() == 0
        assert HOSTILE in page.locator("#places").inner_text()


def test_a_whole_kilometre_is_small(folder: Path) -> None:
    """100 s of 168 runners twice in well under a megabyte; 300 runners over 1 km may take 6."""
    assert (folder / "replay.html").stat().st_size < 1_000_000
