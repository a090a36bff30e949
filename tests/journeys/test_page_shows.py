"""What the replay page shows is the recording: people, seconds, ribbon, the other plan, the runner's eye."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page

from simrun.pictures.map.unrolled import along_and_across
from simrun.pictures.story.losing import Losing
from simrun.pictures.story.plans_apart import gap_of
from simrun.state.account import lost_so_far
from simrun.state.recording import Recording
from simrun.state.recording_file import load

FOLLOWED = (240, 228, 66)


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
def test_the_other_plan_lies_over_it(page: Page, replay_folder: Path) -> None:
    """Diamonds in their own ink, which vanish when hidden; and the gap as a number."""
    other = load(replay_folder / "outside.npz")
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


def test_the_gap_is_the_clocks(page: Page, replay_folder: Path, recording: Recording) -> None:
    """By how much the other plan comes later to a place: on the page what the films tell."""
    other = load(replay_folder / "outside.npz")
    ours = recording.roster.team == "Alderbrook"
    told = gap_of(Losing(recording), Losing(other), ours)
    for place, behind in zip(told.place_m[1:8], told.behind_s[1:8], strict=True):
        shown = page.evaluate(f"replay.lostAt.gap(replay.state, {place})")
        assert shown == pytest.approx(behind, abs=0.15), place


def test_the_way_of_the_race_is_shown_on_the_ground(page: Page) -> None:
    """Arrowheads point where the measured line goes; their places stay while the camera moves."""
    tips = page.evaluate(
        """() => {
            const map = replay.map, found = [];
            const drawn = { beginPath() {}, stroke() {}, moveTo(...spot) { found.push([spot]); },
                lineTo(...spot) { found[found.length - 1].push(spot); } };
            map.place(replay.state);
            map.drawWay(drawn, 0, 150);
            return found.map((spots) => [spots[1][0] - spots[0][0], spots[1][1] - spots[0][1]]);
        }"""
    )
    assert len(tips) >= 1
    assert all(along > 0 for along, _ in tips), "the start field lies to the right of the line"
