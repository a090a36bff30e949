"""Seconds by hand: what a race must come to where a pencil can say it, from a course and a clock alone.

Two runners never meet, or nobody else is there, so the alone-runs and the race itself have closed forms:
reaction, the sound's way from the gun, the way over the speed, and the start constant.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from simrun.engine.entering import Racing
from simrun.engine.field import stand_m
from simrun.engine.run import (
    Race,
    alone_runs,
    best_box,
    recording_of,
)
from simrun.measure.loss import clear_places, places, time_lost
from simrun.sources import figure
from simrun.state.arrays import RACED_BIN_M
from simrun.state.recording import Recording
from simrun.tactics.margins import own_margins
from tests.helpers.worlds import scenario_of
from tests.oracle.days import ALONE, BOXES, FAN, SPEED_M_S, STRAIGHT

pytestmark = pytest.mark.oracle

Array = NDArray[np.float64]


def steady(text: str, folder: Path, seed: int = 1) -> Recording:
    """A race in which everybody runs one speed from the gun on."""
    day = scenario_of(text, folder)
    roster = day.roster(seed)
    even = {"wander": np.ones_like(roster.wander), "opening": np.zeros_like(roster.opening)}
    roster = replace(roster, **even)
    own = own_margins(day.strip, roster)
    field = Race(day, roster, stand_m(day.start_line, roster), own, frames=False).run()
    return recording_of(field, seed)


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> dict[int, Recording]:
    """One runner by seed, with nobody else on the course."""
    folder = tmp_path_factory.mktemp("alone")
    return {seed: steady(ALONE, folder, seed) for seed in range(1, 7)}


@pytest.fixture(scope="module")
def fan(tmp_path_factory: pytest.TempPathFactory) -> Recording:
    return steady(FAN, tmp_path_factory.mktemp("fan"))


def by_hand_s(way_m: float, reaction_s: float, from_gun_m: float) -> float:
    """Reaction, sound, way over speed, and what gathering speed costs."""
    tau_s = figure("runner.start_constant_s").value
    return reaction_s + from_gun_m / figure("sound_m_s").value + way_m / SPEED_M_S + tau_s


def stand_of(recording: Recording, row: int) -> Array:
    """Where the front row of the runner's box stands, x from the line on."""
    line = recording.scenario.start_line
    return np.asarray(line.stand_middle_m(int(recording.roster.box[row])))


def from_gun_m(recording: Recording, row: int) -> float:
    return float(np.hypot(*(stand_of(recording, row) - recording.scenario.start_line.gun_m)))


def test_who_stands_best_and_meets_nobody_loses_nothing(alone: dict[int, Recording]) -> None:
    """Front row of the best box, alone, on the shortest line: 0 in every part, at every mark."""
    for recording in alone.values():
        table = time_lost(recording)
        assert recording.best_box == 1
        for part in ("lost_s", "box_s", "line_s", "traffic_s", "racing_s"):
            np.testing.assert_allclose(table[part], 0.0, atol=1e-9)
        assert table["place"].tolist() == [1, 1]
        assert table["places_lost"].tolist() == [0, 0]


@pytest.mark.parametrize("times", ["crossing_s", "alone_s", "shortest_s", "best_s", "raced_s"])
def test_every_clock_is_the_one_of_the_closed_form(alone: dict[int, Recording], times: str) -> None:
    """What time lost is measured against as well. A reaction takes effect at the next step of 0.05 s."""
    for recording in alone.values():
        reaction_s = float(recording.roster.reaction_s[0])
        for mark, at_m in enumerate((100.0, 500.0)):
            way_m = at_m - float(stand_of(recording, 0)[0])
            late_s = float(getattr(recording, times)[0, mark])
            late_s -= by_hand_s(way_m, reaction_s, from_gun_m(recording, 0))
            assert abs(late_s) <= 0.05


def test_a_later_reaction_is_a_later_time_second_for_second(alone: dict[int, Recording]) -> None:
    """Reactions follow the seed: another seed, another reaction; and nothing else tells the clocks apart."""
    reaction_s = np.array([float(each.roster.reaction_s[0]) for each in alone.values()])
    assert len(set(np.round(reaction_s, 3))) == len(alone)
    assert reaction_s.max() - reaction_s.min() > 0.05
    for name in ("crossing_s", "alone_s", "shortest_s", "best_s"):
        times_s = np.array([getattr(each, name)[0] for each in alone.values()])
        late_s = times_s - times_s[0] - (reaction_s - reaction_s[0])[:, None]
        # A reaction takes effect at the next step.
        assert np.abs(late_s).max() <= 0.05 + 1e-9


def test_the_same_seed_reacts_alike_and_another_does_not(tmp_path: Path) -> None:
    day = scenario_of(FAN, tmp_path)
    drawn = {seed: day.roster(seed).reaction_s for seed in (1, 2, 3, 4)}
    np.testing.assert_array_equal(day.roster(2).reaction_s, drawn[2])
    for one, other in ((1, 2), (2, 3), (1, 4)):
        assert np.abs(drawn[one] - drawn[other]).min() > 0.0
    assert len({float(s) for each in drawn.values() for s in each}) == 12


def test_the_middle_box_is_the_best(fan: Recording) -> None:
    """Straight ahead of the gate; it costs whoever stands there nothing."""
    assert fan.best_box == 2
    table = time_lost(fan)
    middle = table[table["box"] == 2]
    np.testing.assert_allclose(middle["box_s"], 0.0, atol=1e-9)


def test_what_a_box_costs_is_its_way_by_pythagoras(fan: Recording) -> None:
    """20 m aside and 100 m ahead, to the near post and not the middle: within what 0.3 m of room may be."""
    table = time_lost(fan).set_index(["box", "checkpoint"])
    least_s = (math.hypot(20 - 1 + 0.2, 100) - 100) / SPEED_M_S
    most_s = (math.hypot(20, 100) - 100) / SPEED_M_S
    for mark in ("gate", "end"):
        for box in (1, 3):
            assert least_s - 0.03 < table.loc[(box, mark), "box_s"] < most_s + 0.06
        sides = [float(table.loc[(box, mark), "box_s"]) for box in (1, 3)]
        assert sides[0] == pytest.approx(sides[1], abs=0.06)


def test_the_best_time_does_not_ask_where_one_stands(fan: Recording) -> None:
    """Alike runners have the same one, but for their reactions."""
    since_s = fan.best_s - fan.roster.reaction_s[:, None]
    assert np.ptp(since_s, axis=0).max() <= 0.05 + 1e-9
    assert (fan.best_s <= fan.shortest_s + 1e-9).all()
    expected_s = by_hand_s(390.0, 0.0, 0.0)
    assert since_s[:, 1] == pytest.approx(expected_s, abs=0.2)


@pytest.mark.parametrize(
    ("text", "boxes", "limit", "best"),
    [
        (BOXES, 3, 120, 1),  # the inside of the turn
        (BOXES, 5, 120, 1),
        (STRAIGHT, 3, 120, 2),  # straight on everybody has the same way
        (STRAIGHT, 5, 120, 3),
        (STRAIGHT, 4, 120, 2),
        (STRAIGHT, 5, 25, 3),  # the last mark is not reached, the one before is
        (STRAIGHT, 5, 5, 3),  # no mark is reached
    ],
)
def test_which_box_is_the_best(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    text: str,
    boxes: int,
    limit: int,
    best: int,
) -> None:
    """Heard everywhere at once: of equal boxes the one nearest to the middle, of two the left one."""
    monkeypatch.setattr("simrun.engine.run.sound_delay_s", lambda line, stand: np.zeros(len(stand)))
    day = scenario_of(text.format(boxes=boxes, limit=limit), tmp_path)
    options = {"alone": True, "frames": False, "settings": None}
    assert best_box(day, day.roster(1), options) == best


@pytest.mark.parametrize("gun", ["left", "middle", "right"])
def test_equal_boxes_are_equal_wherever_the_gun_is(tmp_path: Path, gun: str) -> None:
    """Straight on everybody has the same way, so the middle box stands for all, not that of the gun."""
    day = scenario_of(STRAIGHT.format(boxes=5, limit=120), tmp_path).changed({"start.gun": gun})
    assert best_box(day, day.roster(1), {"alone": True, "frames": False, "settings": None}) == 3


def test_a_box_that_is_told_is_the_reference(fan: Recording) -> None:
    """From box 3 instead of the best one: as long as from there by hand."""
    day, roster = fan.scenario, fan.roster
    own = own_margins(day.strip, roster)
    found = alone_runs(day, roster, stand_m(day.start_line, roster), own, box=3).alone()
    assert found.best_box == 3
    assert found.best_s[2] == pytest.approx(found.shortest_s[2], abs=0.06)
    assert (found.best_s[1] > fan.best_s[1] + 0.2).all()


FASTER, FROM_M, TO_M = 1.03, 150.0, 350.0
"""Wished in the race, because of the others: 3 % more than planned over these metres, four notes of 50 m."""

HELD_UP_S = 2.0


@pytest.fixture(scope="module")
def raced(tmp_path_factory: pytest.TempPathFactory) -> Recording:
    """One runner who was drawn on over 200 m and held up for two seconds at 100 m, each known beforehand."""
    plain = steady(ALONE, tmp_path_factory.mktemp("raced"))
    day, roster = plain.scenario, plain.roster
    wished = np.ones((1, 14))
    wished[0, int(FROM_M / RACED_BIN_M) : int(TO_M / RACED_BIN_M)] = FASTER
    racing, own = Racing(np.zeros(0), wished), own_margins(day.strip, roster)
    found = alone_runs(day, roster, stand_m(day.start_line, roster), own, racing=racing).alone()
    times = {name: getattr(found, name) for name in ("alone_s", "raced_s", "shortest_s", "best_s")}
    return replace(plain, **times, crossing_s=found.raced_s + HELD_UP_S)


def test_racing_is_what_was_wished_because_of_the_others_and_traffic_the_rest(
    raced: Recording,
) -> None:
    """+3 % over 200 m at 5 m/s: 200 / 5 (1 / 1.03 - 1) = -1.165 s, by 500 m and not yet by 100 m.

    Neither is in the other, and together with the box and the line, which cost nothing, they are the whole.
    A wish is looked at five times a second and taken up as fast as a start is, once: 3 % of that may be lost.
    """
    late_s = (FASTER - 1) * (figure("runner.start_constant_s").value + 0.2)
    drawn_on_s = (TO_M - FROM_M) / SPEED_M_S * (1 / FASTER - 1)
    table = time_lost(raced).set_index("checkpoint")
    np.testing.assert_allclose(table["traffic_s"], HELD_UP_S, atol=1e-9)
    np.testing.assert_allclose(table[["box_s", "line_s"]], 0.0, atol=1e-9)
    assert table["racing_s"]["near"] == 0.0
    assert table["racing_s"]["far"] == pytest.approx(drawn_on_s, abs=late_s)
    parts = table[["box_s", "line_s", "racing_s", "traffic_s"]].sum(axis=1)
    np.testing.assert_allclose(table["lost_s"], parts, atol=1e-9)
    assert table["lost_s"]["far"] == pytest.approx(HELD_UP_S + drawn_on_s, abs=late_s)


TIMES = [[10.0, 20.0], [11.0, np.nan], [11.0, 19.0], [13.0, 21.0]]


def test_places_by_hand() -> None:
    """Equals share the better place, who never came has none, and every mark counts by itself."""
    found = places(np.array(TIMES))
    np.testing.assert_array_equal(found, [[1, 2], [2, np.nan], [2, 1], [4, 3]])


class Ran:
    """As much of a recording as an order of ability needs."""

    def __init__(self, crossing_s: object, best_s: object) -> None:
        self.crossing_s, self.best_s = np.array(crossing_s, float), np.array(best_s, float)


@pytest.mark.parametrize(
    ("crossing_s", "best_s", "places_by_hand"),
    [
        ([[9], [8], [7]], [[5], [6], [7]], [[1], [2], [3]]),
        ([[9], [np.nan], [7]], [[5], [4], [7]], [[1], [np.nan], [2]]),  # of those who came
        ([[9], [8], [7]], [[5], [np.nan], [np.nan]], [[np.nan]] * 3),  # some were not run alone
        ([[9, 9], [8, 8]], [[5, 6], [4, np.nan]], [[2, 1], [1, 2]]),  # alone too late comes last
        (
            [[9], [8], [np.nan]],
            [[5], [6], [np.nan]],
            [[1], [2], [np.nan]],
        ),  # who never came may be unknown
    ],
)
def test_the_order_of_ability_by_hand(
    crossing_s: object, best_s: object, places_by_hand: object
) -> None:
    found = clear_places(Ran(crossing_s, best_s))  # type: ignore[arg-type]
    np.testing.assert_array_equal(found, np.array(places_by_hand, float))
