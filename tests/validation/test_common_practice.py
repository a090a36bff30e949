"""Facts of the trade (checks, section D): no published source, so only their sign is asked for.

Nothing in the model was tuned to these rows. Every interval is 95 % over paired seeds (Student).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import stats

import simrun
from simrun.engine.run import Race
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.state.arrays import metres_a_second
from tests.helpers.worlds import SHARP_TURN, field_race, scenario_of

SHIPPED = Path(__file__).parents[2] / "scenarios"
SEEDS = range(1, 13)


def interval(values: list[float]) -> tuple[float, float, float]:
    """Mean and 95 % interval of one value a seed."""
    array = np.array(values)
    reach = stats.t.ppf(0.975, len(array) - 1) * array.std(ddof=1) / np.sqrt(len(array))
    return float(array.mean()), float(array.mean() - reach), float(array.mean() + reach)


def middle_third(crossing_s: np.ndarray) -> np.ndarray:
    """Who was in the middle third of the field at this checkpoint? (N,)"""
    rank = crossing_s.argsort().argsort()
    return (rank > len(rank) / 3) & (rank < 2 * len(rank) / 3)


ONE_SIDED = SHARP_TURN.replace(
    'name = "funnel"\n', 'name = "funnel"\nside = "left"\nleft = "barrier"\n'
)


@pytest.mark.slow
def test_a_narrowing_from_one_side_slows_that_side(tmp_path: Path) -> None:
    """A hard narrowing from the left about 150 m after a wide line, and the next turn to the left: do
    the boxes on the barrier's side lose more than those on the free side?

    Against the same runner alone on the shortest line from the own box, so that the extra metres do
    not count: traffic at the throat, eight boxes on each side.
    common practice
    """
    scenario = scenario_of(ONE_SIDED, tmp_path)
    differences = []
    for seed in SEEDS:
        race = field_race(scenario, seed, frames=False)
        alone = field_race(scenario, seed, frames=False, alone=True)
        traffic = race.tape.crossing_s[:, 0] - alone.tape.crossing_s[:, 0]
        box = race.roster.box
        differences.append(traffic[box <= 8].mean() - traffic[box > 16].mean())
    mean, low, high = interval(differences)
    assert low > 0, f"barrier side minus free side: {mean:.2f} s ({low:.2f} to {high:.2f})"


def lowest_speed_m_s(race: Race) -> np.ndarray:
    """The lowest speed of every runner within 15 m of the barn corner, (N,)."""
    gate = race.scenario.strip.gates[1]
    corner = race.scenario.strip.left_m[gate.first_cut]
    away = np.hypot(*np.moveaxis(race.tape.position - corner.astype(np.float32), 2, 0))
    return np.nanmin(np.where(away < 15, metres_a_second(race.tape.speed_cm_s), np.nan), axis=0)


@pytest.mark.slow
def test_the_inside_of_a_sharp_turn_brings_the_pack_down_to_walking(tmp_path: Path) -> None:
    """Which share of the inside runners of the middle third runs slower than 2 m/s somewhere at a sharp
    turn 310 m after the gun, when 70 % of the field hug the inside? And is it a larger share than of
    those who go wide?

    common practice
    """
    scenario = scenario_of(SHARP_TURN, tmp_path)
    inside, difference = [], []
    for seed in SEEDS:
        race = field_race(scenario, seed)
        slow = lowest_speed_m_s(race) < 2.0
        middle = middle_third(race.tape.crossing_s[:, 0])
        line = race.roster.line
        inside.append(slow[middle & (line == "inside")].mean())
        wide = middle & (line == "outside")
        if wide.any():
            difference.append(inside[-1] - slow[wide].mean())
    mean, low, _ = interval(inside)
    assert low > 0, f"share of inside runners down to walking: {mean:.2f}"
    assert interval(difference)[1] > 0, f"inside minus outside: {interval(difference)}"


def exit_gain_s(scenario: Scenario, seed: int) -> float:
    """How much sooner is our team 51 m past the corner when it goes wide instead of inside?"""
    times = []
    for line in ("inside", "outside"):
        told = scenario.changed({"teams.Alderbrook.line": line})
        race = field_race(told, seed, frames=False)
        ours = race.roster.team == "Alderbrook"
        times.append(race.tape.crossing_s[ours, 1].mean())
    return float(times[0] - times[1])


@pytest.mark.slow
@pytest.mark.parametrize("hug", [0.85])
def test_the_same_turn_taken_wide_is_faster_in_the_pack(hug: float, tmp_path: Path) -> None:
    """Is the wide line, cutting back after the turn, the faster one for a team in the pack when 85 % of
    the others hug the inside? Paired: the same people, only our team's line changed.

    common practice
    """
    others = {"inside": hug, "middle": (1 - hug) / 2, "outside": (1 - hug) / 2}
    scenario = scenario_of(SHARP_TURN, tmp_path).changed({"field.lines": others})
    mean, low, high = interval([exit_gain_s(scenario, seed) for seed in range(1, 61)])
    assert low > 0, f"wide is faster by {mean:.2f} s ({low:.2f} to {high:.2f})"


@pytest.mark.slow
def test_strung_out_the_inside_wins_by_its_extra_metres(tmp_path: Path) -> None:
    """Alone, is the inside of the sharp turn the faster line again?

    common practice; the metres computed by the string
    """
    scenario = scenario_of(SHARP_TURN, tmp_path)
    gains = []
    for seed in SEEDS:
        wide = scenario.changed({"teams.Alderbrook.line": "outside"})
        hugging = scenario.changed({"teams.Alderbrook.line": "inside"})
        ours = scenario.roster(seed).team == "Alderbrook"
        times = [
            field_race(told, seed, frames=False, alone=True).tape.crossing_s[ours, 1].mean()
            for told in (hugging, wide)
        ]
        gains.append(times[1] - times[0])
    mean, low, _ = interval(gains)
    assert low > 0, f"inside is faster by {mean:.2f} s"


TRAIL = """
name = "Trail"
[clock]
limit = "8 min"
[start]
width = 30
boxes = 10
box_width = 3
front_row = 3
[course]
[[course.pieces]]
piece = "straight"
length = 150
width = 30
[[course.pieces]]
piece = "narrowing"
length = 50
width = {width}
[[course.pieces]]
piece = "{kind}"
length = 400
width = {width}
{marks}
[field]
fill = true
[[teams]]
name = "Alderbrook"
box = 5
"""


def passes_and_spread(width_m: float, seed: int, folder: Path) -> tuple[float, float]:
    """Passes per 100 m and runner between 250 and 550 m, and the spread of speeds there."""
    marks = "".join(f'[[course.checkpoints]]\nname = "{at}"\nat = {at}\n' for at in (250, 400, 550))
    kind = "trail" if width_m < 4 else "straight"
    race = field_race(
        scenario_of(TRAIL.format(width=width_m, kind=kind, marks=marks), folder), seed, frames=False
    )
    times = race.tape.crossing_s
    rank = times.argsort(axis=0).argsort(axis=0)
    before = rank[:, 0][:, None] < rank[:, 0][None, :]
    after = rank[:, 2][:, None] > rank[:, 2][None, :]
    swapped = (before & after).sum() / len(rank) / 3.0
    pace = 300.0 / (times[:, 2] - times[:, 0])
    near = np.argsort(times[:, 0])
    spread = np.mean([pace[near[i : i + 10]].std() for i in range(0, len(near) - 10, 10)])
    return float(swapped), float(spread)


def test_a_trail_carries_the_pack_at_the_pace_of_the_slower(tmp_path: Path) -> None:
    """On a trail of 1.8 m, do passes per 100 m fall against a 12 m course, and do the speeds of those who
    run together come closer?

    common practice
    """
    passes, spreads = [], []
    for seed in range(1, 11):
        narrow, wide = (passes_and_spread(width, seed, tmp_path) for width in (1.8, 12.0))
        passes.append(wide[0] - narrow[0])
        spreads.append(wide[1] - narrow[1])
    assert interval(passes)[1] > 0, interval(passes)
    assert interval(spreads)[1] > 0, interval(spreads)


@pytest.mark.slow
def test_on_the_second_lap_the_same_places_cost_less() -> None:
    """By the second lap the crowd has thinned: does traffic cost less over the same ground?

    Ferry Meadow from the barn exit to the gateway, first lap against second. common practice
    """
    scenario = read(SHIPPED / "ferry_meadow.toml")
    lap = scenario.strip.station_m[
        [gate.first_cut for gate in scenario.strip.gates if gate.name == "barn corner"]
    ]
    marks = [
        {"name": f"{what} {k + 1}", "at": round(float(lap[k]) + off, 2)}
        for k in (0, 1)
        for what, off in (("in", -40.0), ("out", 40.0))
    ]
    scenario = scenario.changed({"course.checkpoints": marks})
    savings = []
    for seed in range(1, 11):
        field = field_race(scenario, seed, frames=False).tape.crossing_s
        alone = field_race(scenario, seed, frames=False, alone=True).tape.crossing_s
        traffic = np.diff(field, axis=1) - np.diff(alone, axis=1)
        savings.append(traffic[:, 0].mean() - traffic[:, 2].mean())
    mean, low, _ = interval(savings)
    assert low > 0, f"{mean:.2f} s less on the second lap"


@pytest.mark.parametrize("name", ["ferry_meadow", "ostrel_common", "dual_meet"])
@pytest.mark.slow
def test_who_is_clear_in_front_loses_nothing(name: str) -> None:
    """Is the traffic loss of a runner who leads by more than 6 m from the gun on zero within one step?

    A runner made faster than the field by a head start in ability: nobody is ever in its look.
    common practice
    """
    scenario = read(SHIPPED / f"{name}.toml")
    recording = simrun.race(_with_a_leader(scenario), seed=1)
    leader = recording.roster.name.index("Aro Leader")
    traffic = recording.crossing_s[leader] - recording.alone_s[leader]
    assert recording.crossing_s[leader, 0] == recording.crossing_s[:, 0].min()
    assert np.abs(traffic).max() <= scenario.clock.step_s


def _with_a_leader(scenario: Scenario) -> Scenario:
    ours = scenario.our_team
    person = {"name": "Aro Leader", "time": "13:00", "opening": 0.3, "row": 1}
    return scenario.changed({f"teams.{ours}.people": [person]})
