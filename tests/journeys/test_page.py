"""The replay page in a real browser: played, scrubbed, followed, ridden along, linked, alone with itself."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page

from simrun.cli import main
from simrun.engine.run import run_race
from simrun.pictures.map.unrolled import along_and_across
from simrun.pictures.replay.replay_page import write_page
from simrun.pictures.story.losing import Losing
from simrun.pictures.story.plans_apart import gap_of
from simrun.scenario.reader import read
from simrun.state.account import lost_so_far
from simrun.state.recording import Recording
from simrun.state.recording_file import load, save
from tests.helpers.recordings import SHIPPED, shipped

TOP = Path(__file__).parents[2]
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


@pytest.mark.slow
def test_the_other_plan_lies_over_it(page: Page, folder: Path) -> None:
    """Diamonds in their own ink, which vanish when hidden; and the gap as a number."""
    other = load(folder / "outside.npz")
    assert page.evaluate("replay.races.length") == 2
    assert page.evaluate("replay.races[1].frames") == len(other.times_s)
    page.evaluate("replay.state.t = 70")
    page.get_by_label("follow").select_option("team:0")
    count = """() => {
        const data = replay.map.canvas.getContext("2d").getImageData(0, 0, 9999, 9999).data;
        let found = 0;
        for (let i = 0; i < data.length; i += 4) {
            const off = [112, 56, 236].map((ink, k) => Math.abs(data[i + k] - ink));
            if (off[0] + off[1] + off[2] < 30) found++;
        }
        return found;
    }"""
    assert page.evaluate(count) > 30
    page.get_by_label("other plan").select_option("off")
    assert page.evaluate(count) == 0
    assert "ghost" not in page.content()
    assert re.fullmatch(
        r"(The other plan is \d+\.\d s a runner (behind|ahead) here\.|Both plans are level here\.)"
        r" Lost so far: \d+\.\d s a runner, with the other plan \d+\.\d s\.",
        page.locator("#gap").inner_text(),
    )


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
            return [0x969ea3, 0xf8f5eb, 0xe6eef2].every(ink => found.has(ink));
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
        assert page.evaluate("location.hash").startswith("#at=33.5&")


@pytest.mark.parametrize(("link", "second"), [("#at=75.0", 75.0), ("#at=9999", None), ("#at=x", 0)])
def test_a_report_leads_to_its_moment(
    browser: Browser, folder: Path, recording: Recording, link: str, second: float | None
) -> None:
    """As race.html links: the page opens at that second, and goes to another when the address changes."""
    for page in opened(browser, folder / "replay.html", link):
        last = float(recording.times_s[-1])
        expected = pytest.approx(last if second is None else second, abs=0.11)
        assert page.evaluate("replay.state.t") == expected
        page.evaluate("location.hash = '#at=12.5'")
        page.wait_for_function("replay.state.t === 12.5")
        assert page.locator("#clock").inner_text() == "0:12.5"


def test_a_page_beside_it_leads_to_where_most_was_lost(
    browser: Browser, folder: Path, recording: Recording
) -> None:
    """No ten seconds cost ours more than those that begin just after; and a place by its name."""
    ours = np.flatnonzero(recording.roster.team == "Alderbrook")
    lost = lost_so_far(recording).lost_s[:, ours].sum(axis=1)
    for page in opened(browser, folder / "replay.html", "#to=most"):
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
        page.locator("#more summary").click()
        seen = 0
        for kind in ("button", "select", "input[type=text]"):
            for control in page.locator(kind).all():
                if not control.is_visible():
                    continue
                box = control.bounding_box()
                assert box
                assert box["height"] >= 43.9
                seen += 1
                assert control.evaluate("c => (c.labels?.[0] ?? c).textContent || c.ariaLabel")
        assert seen >= 12


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


def test_a_whole_kilometre_is_small(folder: Path) -> None:
    """100 s of 168 runners twice."""
    assert (folder / "replay.html").stat().st_size < 1_000_000


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(path.stem for path in SHIPPED.glob("*.toml")))
def test_the_page_of_every_shipped_race_is_small(name: str, tmp_path: Path) -> None:
    """Also 210 runners over five kilometres: below 1.5 MB."""
    assert write_page(shipped(name, 1), tmp_path / "replay.html").stat().st_size < 1_500_000


SIZES = [
    *((390, 844), (1366, 768)),
    *(pytest.param(*size, marks=pytest.mark.slow) for size in ((844, 390), (1920, 1080))),
]
WHOLE_RACE = """([from, to, step]) => {
    let frames = 0, whole = 0;
    for (let t = from; t <= to; t += step) {
        const [there, seen] = replay.map.inView({ ...replay.state, t });
        frames++;
        if (there === seen) whole++;
    }
    return whole / frames;
}"""


@pytest.mark.parametrize(("wide", "high"), SIZES)
def test_at_every_size_ours_are_in_view_and_the_ledger_above_the_fold(
    browser: Browser, folder: Path, wide: int, high: int
) -> None:
    """All seven in 99 % of the frames of the whole race at least, unless told otherwise; the first row of the
    ledger is seen without scrolling, and nothing sticks out to the side."""
    for page in opened(browser, folder / "replay.html", viewport={"width": wide, "height": high}):
        last = page.evaluate("replay.races[0].last_s")
        assert page.evaluate(WHOLE_RACE, [0, last, 0.1]) >= 0.99
        page.evaluate("replay.map.camera.zoom = 6")
        assert page.evaluate(WHOLE_RACE, [0, last, 0.5]) < 0.9
        box = page.locator("#places tr").first.bounding_box()
        assert box
        assert box["y"] + box["height"] <= high
        assert page.evaluate("document.documentElement.scrollWidth") <= wide


@pytest.mark.slow
@pytest.mark.parametrize("name", ["ostrel_common", "sallow_heath", "brindle_fen"])
def test_all_of_ours_are_in_view_in_whole_races(
    browser: Browser, tmp_path: Path, name: str
) -> None:
    """Also when a team comes to lie hundreds of metres apart."""
    path = write_page(shipped(name, 1), tmp_path / "replay.html")
    for page in opened(browser, path, viewport={"width": 1366, "height": 768}):
        last = page.evaluate("replay.races[0].last_s")
        assert page.evaluate(WHOLE_RACE, [0, last, 0.2]) >= 0.99


def test_the_ledger_is_the_account(page: Page, recording: Recording) -> None:
    """Seconds lost now, not at the last mark; the parts add up; the mark beside a row is its level."""
    account, losing = lost_so_far(recording), Losing(recording)
    ours = np.flatnonzero(recording.roster.team == "Alderbrook")
    for second in (20.0, 60.0, 95.0):
        page.get_by_label("Moment of the race").fill(str(second))
        rows = page.locator("#places tr.ours").all()
        assert len(rows) == len(ours)
        frame = round(second * 10)
        levels = losing.levels(recording.times_s[frame : frame + 1])[0]
        for row, runner in zip(rows, ours, strict=True):
            said = float(row.locator("td").nth(3).inner_text())
            assert said == pytest.approx(account.lost_s[frame, runner], abs=0.06)
            assert int(row.get_attribute("data-level") or -1) == levels[runner]
            parts = row.locator(".bar-of-loss").get_attribute("aria-label") or ""
            found = [float(value) for value in re.findall(r"(-?\d+\.\d) s", parts)]
            assert sum(found) == pytest.approx(said, abs=0.2)


def test_the_ribbon_shows_ours_where_they_run(page: Page, recording: Recording) -> None:
    """Along and across as the course itself says, in one of the windows; at least forty pixels wide."""
    along, across = along_and_across(recording.strip, recording.position_m)
    ours = np.flatnonzero(recording.roster.team == "Alderbrook")
    for second in (5.0, 45.0, 90.0):
        page.get_by_label("Moment of the race").fill(str(second))
        for runner in ours:
            spot = [float(x) for x in recording.position_m[round(second * 10), runner]]
            found = page.evaluate(
                """([runner, x, y]) => replay.map.ground.unrolled(
                    replay.races[0].stationAt(replay.state.t, runner), x, y)""",
                [int(runner), *spot],
            )
            frame = round(second * 10)
            assert found[0] == pytest.approx(along[frame, runner], abs=0.5)
            assert found[1] == pytest.approx(across[frame, runner], abs=0.03)
        seen = page.evaluate(
            """() => replay.races[0].mine.every(i => replay.ribbon.windows(replay.state).some(
                w => replay.ribbon.at(replay.state, replay.races[0], i, w)))"""
        )
        assert seen
        assert page.evaluate("replay.ribbon.drawnWidth(2)") >= 40


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


def test_a_runner_is_found_by_typing(page: Page, recording: Recording) -> None:
    """A part of a name that only one bears; letters typed there are no keys."""
    name = recording.roster.name[40]
    page.get_by_label("find a runner").fill(name)
    assert page.evaluate("replay.state.follow") == {"kind": "runner", "index": 40}
    page.get_by_label("find a runner").press("e")
    assert page.evaluate("replay.state.view") == "map"


def test_dashes_are_dashed_in_bends(page: Page) -> None:
    """A marked edge is one line as long as its kind stays: no new beginning at every cut."""
    counts = page.evaluate(
        """() => {
            const begun = [0, 0, 0], real = Path2D.prototype.moveTo;
            let paths = [];
            const made = window.Path2D;
            window.Path2D = class extends made {
                moveTo(...spot) { this.begun = (this.begun ?? 0) + 1; super.moveTo(...spot); }
            };
            paths = replay.map.edgePaths(0, replay.map.ground.cuts - 1);
            window.Path2D = made;
            return [paths.map(path => path.begun ?? 0), replay.map.ground.cuts];
        }"""
    )
    begun, cuts = counts
    assert sum(begun) < cuts / 4


def test_box_numbers_are_free_at_the_gun_and_ours_is_marked(
    page: Page, recording: Recording
) -> None:
    """No runner stands on a number: they are written behind whoever stands in a box."""
    apart = page.evaluate(
        """() => {
            const { boxes, depth } = replay.map.ground, found = [];
            const scale = replay.map.camera.scale, spot = [0, 0];
            for (const { ends } of boxes) {
                const across = [ends[2] - ends[0], ends[3] - ends[1]], length = Math.hypot(...across);
                const back = [across[1] / length, -across[0] / length];
                const far = depth + 13 / scale;
                const at = [0, 1].map(k => (ends[k] + ends[k + 2]) / 2 + far * back[k]);
                for (let i = 0; i < replay.races[0].count; i++) {
                    replay.races[0].at(0, i, spot);
                    found.push(scale * Math.hypot(spot[0] - at[0], spot[1] - at[1]));
                }
            }
            return Math.min(...found);
        }"""
    )
    assert apart > 14
    assert page.evaluate("replay.races[0].mine.length") == 7


def test_who_rides_along_is_told_whose_eyes_these_are(page: Page) -> None:
    """Name, place and seconds lost; with names hidden the next turn is a question."""
    page.get_by_label("follow").select_option("runner:5")
    page.get_by_role("button", name="runner's eye").click()
    page.evaluate(
        """() => {
            window.said = [];
            const real = CanvasRenderingContext2D.prototype.fillText;
            CanvasRenderingContext2D.prototype.fillText = function (text, ...spot) {
                said.push(text);
                real.call(this, text, ...spot);
            };
        }"""
    )
    page.get_by_label("Moment of the race").fill("50")
    said = page.evaluate("said.join('|')")
    name = page.evaluate("replay.races[0].runners[5].name")
    assert re.search(rf"{name}'s eyes, place \d+, \d+\.\d s lost", said)
    page.locator("#names").click()
    assert "?" in page.evaluate("said.slice(-40).join('|')")
    assert page.evaluate("replay.eye.bodies(replay.state).length") > 3
    page.get_by_label("runners in the eye's view").uncheck()
    assert page.evaluate("replay.eye.bodies(replay.state).length") == 0


def test_what_stands_beside_the_course_is_told_apart(page: Page) -> None:
    """Every look makes another picture of the same place; with names hidden nothing is told."""
    pictures = page.evaluate(
        """() => {
            const { ground, look } = replay.map;
            const mark = ground.landmarks.find(({ name }) => name === "hay wagon");
            const canvas = document.createElement("canvas");
            canvas.style.cssText = "width: 480px; height: 270px";
            document.body.append(canvas);
            const eye = new replay.eye.constructor(canvas, null, ground, replay.races, look);
            const drawn = (shown, names) => {
                mark.look = shown;
                eye.drawEmpty({ ...replay.state, names }, mark.station - 20);
                return canvas.toDataURL();
            };
            const looks = ["tree", "trees", "hedge", "building", "mast", "water", "low", "post"];
            const found = looks.map((shown) => drawn(shown, false));
            return [...found, drawn("low", true)];
        }"""
    )
    assert len(set(pictures)) == 9


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


def test_less_motion_is_respected(browser: Browser, folder: Path) -> None:
    """Who wants little of it sees a camera that stands still, and all of ours in the picture."""
    moves = []
    for motion in ("reduce", "no-preference"):
        for page in opened(browser, folder / "replay.html", reduced_motion=motion):
            assert page.evaluate("replay.state.calm") == (motion == "reduce")
            moves.append(
                page.evaluate(
                    """() => {
                        let moved = 0, before = "";
                        for (let t = 0; t <= 99; t += 0.1) {
                            replay.map.place({ ...replay.state, t });
                            const { x, y, scale } = replay.map.camera, now = [x, y, scale].join();
                            if (before && now !== before) moved++;
                            before = now;
                        }
                        return moved;
                    }"""
                )
            )
            last = page.evaluate("replay.races[0].last_s")
            assert page.evaluate(WHOLE_RACE, [0, last, 0.1]) >= 0.99
    assert 1 <= moves[0] <= 10
    assert moves[1] > 500


def test_a_frame_asks_the_page_for_nothing(page: Page) -> None:
    """Sizes and letters are measured once: asked while it plays, every frame would lay the page out anew."""
    page.evaluate("replay.state.t = 50; replay.state.playing = true; replay.show(true)")
    asked = page.evaluate(
        """() => {
            let asked = 0;
            for (const name of ["clientWidth", "clientHeight"]) {
                const { get } = Object.getOwnPropertyDescriptor(Element.prototype, name);
                Object.defineProperty(Element.prototype, name, {
                    configurable: true, get() { asked++; return get.call(this); },
                });
            }
            const measured = CanvasRenderingContext2D.prototype.measureText;
            CanvasRenderingContext2D.prototype.measureText = function (text) {
                asked++;
                return measured.call(this, text);
            };
            replay.show(true);
            const moving = asked;
            replay.show();
            return [moving, asked];
        }"""
    )
    assert asked[0] == 0
    assert asked[1] > 0, "after a hand's doing they are asked anew"


def test_it_prints_on_one_sheet(browser: Browser, folder: Path) -> None:
    """The PDF that the browser makes of it has one page."""
    for page in opened(browser, folder / "replay.html", viewport={"width": 1366, "height": 768}):
        page.evaluate("replay.state.t = 60; replay.show()")
        assert page.pdf(prefer_css_page_size=True).count(b"/Type /Page\n") == 1


def test_the_gap_is_the_clocks(page: Page, folder: Path, recording: Recording) -> None:
    """By how much the other plan comes later to a place: on the page what the films tell."""
    other = load(folder / "outside.npz")
    ours = recording.roster.team == "Alderbrook"
    told = gap_of(Losing(recording), Losing(other), ours)
    for place, behind in zip(told.place_m[1:8], told.behind_s[1:8], strict=True):
        shown = page.evaluate(f"replay.lostAt.gap(replay.state, {place})")
        assert shown == pytest.approx(behind, abs=0.15), place
