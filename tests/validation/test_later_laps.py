"""Later laps (checks, section D): the crowd thins, and what it cost is no longer paid.

No published source, so only signs are asked for. Intervals are 95 % over paired seeds (Student).
"""

from __future__ import annotations

import numpy as np
import pytest

from simrun.scenario.scenario import Scenario
from tests.helpers.worlds import field_race, lone_race, scenario_of
from tests.validation.test_common_practice import interval

pytestmark = pytest.mark.slow

SEEDS = range(1, 11)

THREE_LAPS = """
name = "Three laps"
[clock]
limit = "20 min"
[start]
width = 30
boxes = 12
box_width = 2.5
front_row = 3
[course]
laps = { from = "green", to = "fourth", times = 3 }
[[course.pieces]]
piece = "straight"
name = "field"
length = 100
width = 30
[[course.pieces]]
piece = "narrowing"
length = 30
width = 8
[[course.pieces]]
piece = "straight"
name = "green"
length = 120
[[course.pieces]]
piece = "turn"
name = "sharp corner"
side = "left"
angle = 90
inside_radius = 1
left = "barrier"
[[course.pieces]]
piece = "straight"
name = "side"
length = 120
[[course.pieces]]
piece = "turn"
name = "second"
side = "left"
angle = 90
inside_radius = 10
[[course.pieces]]
piece = "straight"
name = "back"
length = 111
[[course.pieces]]
piece = "turn"
name = "third"
side = "left"
angle = 90
inside_radius = 10
[[course.pieces]]
piece = "straight"
name = "home"
length = 111
[[course.pieces]]
piece = "turn"
name = "fourth"
side = "left"
angle = 90
inside_radius = 10
[[course.pieces]]
piece = "straight"
length = 30
[[course.checkpoints]]
name = "in"
at = 215
every_lap = true
[[course.checkpoints]]
name = "out"
at = 300
every_lap = true
[field]
opening = 0.1
runners = 5
lines = { inside = 0.7, middle = 0.15, outside = 0.15 }
fill = true
[[teams]]
name = "Alderbrook"
box = 6
ours = true
"""


@pytest.fixture(scope="module")
def three_laps(tmp_path_factory: pytest.TempPathFactory) -> Scenario:
    return scenario_of(THREE_LAPS, tmp_path_factory.mktemp("laps"))


@pytest.fixture(scope="module")
def fields(three_laps: Scenario) -> list[np.ndarray]:
    """The crossing times of the field, seed by seed."""
    return [field_race(three_laps, seed, frames=False).tape.crossing_s for seed in SEEDS]


def corner_s(crossing_s: np.ndarray) -> np.ndarray:
    """Seconds from before to behind the sharp corner, lap by lap: (N, 3)."""
    return crossing_s[:, 1::2] - crossing_s[:, 0::2]


def test_by_the_later_laps_the_same_corner_costs_less(
    three_laps: Scenario, fields: list[np.ndarray]
) -> None:
    """Traffic lost at the sharp corner: less on the second and the third lap than on the first, and less
    than half of it.

    common practice
    """
    lost = []
    for seed, field in zip(SEEDS, fields, strict=True):
        alone = field_race(three_laps, seed, frames=False, alone=True).tape.crossing_s
        lost.append((corner_s(field) - corner_s(alone)).mean(axis=0))
    for later in (1, 2):
        mean, low, _ = interval([lap[0] / 2 - lap[later] for lap in lost])
        assert low > 0, f"half of lap 1 less lap {later + 1}: {mean:.2f} s; {np.mean(lost, axis=0)}"


def test_the_field_is_longer_on_every_lap(fields: list[np.ndarray]) -> None:
    """From the tenth to the ninetieth of a hundred it takes more seconds on each lap.

    common practice
    """
    spans = []
    for crossing_s in fields:
        low, high = np.percentile(crossing_s[:, 0::2], [10, 90], axis=0)
        spans.append(high - low)
    for lap in (0, 1):
        assert interval([span[lap + 1] - span[lap] for span in spans])[1] > 0, np.mean(
            spans, axis=0
        )


def test_strung_out_the_inside_wins_again(three_laps: Scenario) -> None:
    """On the third lap only our team's line at the sharp corner differs: the inside is the faster.

    common practice
    """
    gains = []
    for seed in SEEDS:
        times = []
        for line in ("inside", "outside"):
            told = three_laps.changed({"teams.Alderbrook.lines": {"sharp corner@3": line}})
            race = field_race(told, seed, frames=False)
            ours = race.roster.team == "Alderbrook"
            times.append(corner_s(race.tape.crossing_s)[ours, 2].mean())
        gains.append(times[1] - times[0])
    mean, low, high = interval(gains)
    assert low > 0, f"inside is faster by {mean:.2f} s ({low:.2f} to {high:.2f})"


def test_every_lap_of_a_lone_runner_takes_the_same_time(three_laps: Scenario) -> None:
    """No drift: the second and the third lap of an even pace are equal to a step of the clock."""
    crossing_s = lone_race(three_laps, frames=False).tape.crossing_s[0]
    laps = np.diff(crossing_s[0::2])
    assert abs(laps[1] - laps[0]) < three_laps.clock.step_s


def slow_person(box: int, time: str, name: str) -> dict[str, object]:
    people = [{"name": name, "time": time, "opening": 0.0, "line": "inside"}]
    return {"name": f"Team of {name}", "box": box, "runners": 1, "people": people}


def test_who_is_lapped_is_seen_and_passed(three_laps: Scenario) -> None:
    """Two runners, one at a third of the other's pace and both on the inside: the faster comes up from
    behind on the same ground, goes round without a touch, and loses next to nothing."""
    teams = [slow_person(6, "48:00", "Aro Last"), slow_person(7, "16:00", "Bel First")]
    told = three_laps.changed(
        {"teams": teams, "field.fill": False, "clock.limit": 1500, "field.pull": [1.0, 1.0]}
    )
    race, alone = (field_race(told, 1, alone=kind) for kind in (False, True))
    first, last = race.tape.crossing_s[1], race.tape.crossing_s[0]
    assert first[-1] < last[3], "nobody was lapped: the test would prove little"
    apart = np.hypot(*np.moveaxis(race.tape.position[:, 0] - race.tape.position[:, 1], 1, 0))
    through = np.hypot(*np.moveaxis(alone.tape.position[:, 0] - alone.tape.position[:, 1], 1, 0))
    bodies_m = race.roster.radius_m.sum()
    assert np.nanmin(through) < bodies_m, "they never were in each other's way"
    assert np.nanmin(apart) > bodies_m, f"{np.nanmin(apart):.2f} m between the middles"
    assert abs(first[-1] - alone.tape.crossing_s[1, -1]) < 1.0


def test_who_is_lapped_is_counted_right(three_laps: Scenario) -> None:
    """One runner at half the pace of a field: nobody is lost, and every checkpoint counts the lap on which
    it is crossed, though all laps lie on the same ground."""
    slow = [{"name": "Aro Last", "time": "45:00", "opening": 0.0, "row": 1}]
    told = three_laps.changed({"teams.Alderbrook.people": slow, "clock.limit": 1500})
    race = field_race(told, 1, frames=False)
    last = race.roster.name.index("Aro Last")
    crossing_s = race.tape.crossing_s
    assert np.isfinite(crossing_s).all()
    assert (np.diff(crossing_s, axis=1) > 0).all()
    lapped_by = (crossing_s[:, 4] < crossing_s[last, 2]).sum()
    assert lapped_by > len(crossing_s) / 2, "nobody was lapped: the test would prove little"
    assert crossing_s[last, -1] > 1.8 * np.median(crossing_s[:, -1])
    assert race.tape.overlap[0] < 0.05
