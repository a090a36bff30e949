"""What the walk says of sides: true of made-up races, silent where there is nothing, open about doubt."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import simrun
from simrun.answers.sheet.sheet_records import Band
from simrun.answers.whole.preview.beside_words import over_said, walks_said
from simrun.answers.whole.preview.sides import (
    BEFORE_M,
    FEWEST,
    GetsOver,
    WalksThere,
    Watched,
    begins_m,
    ends_m,
    judged,
    middle_m,
)
from simrun.course.strip import Gate
from simrun.scenario.scenario import Scenario
from simrun.trials.races import Outcome, marks_outcome

SCENARIOS = Path(__file__).parents[3] / "scenarios"
SEEDS = tuple(range(1, 13))


@pytest.fixture(scope="module")
def day() -> Scenario:
    return simrun.read(SCENARIOS / "brindle_fen.toml").changed({"inputs.drawn": False})


@pytest.fixture(scope="module")
def corner(day: Scenario) -> Gate:
    return next(gate for gate in day.strip.gates if gate.name == "pump corner")


@pytest.fixture(scope="module")
def raced(day: Scenario) -> Outcome:
    """One race to the corner: the people, their teams, places and lines of all made-up ones below."""
    return marks_outcome(day.changed({"clock.limit": 10}), 1)


def made_up(day: Scenario, corner: Gate, raced: Outcome, walks: float, others: float) -> Watched:
    """Races in which this share of the inside third walks, and that of everybody else; sides by lot."""
    stations = [at(day, corner) for at in (begins_m, middle_m, ends_m)]
    stations[0] -= BEFORE_M
    count = len(raced.box)
    races = []
    for seed in SEEDS:
        random = np.random.default_rng(seed)
        across = np.repeat(random.random((count, 1)), 3, axis=1)
        inside = across[:, 1] > 2 / 3
        slow = np.where(random.random(count) < np.where(inside, walks, others), 1.0, 4.0)
        place = np.repeat(random.permutation(count)[:, None] + 1.0, 3, axis=1)
        slowest = np.repeat(slow[:, None], 3, axis=1)
        races.append(replace(raced, across=across, slowest_m_s=slowest, place=place))
    return Watched(day, np.array(stations), tuple(races), SEEDS)


def told(day: Scenario, corner: Gate, raced: Outcome, walks: float, others: float) -> WalksThere:
    watched = made_up(day, corner, raced, walks, others)
    return judged([(0.0, watched.walks(corner, 0))])[0][1]


def test_who_walks_inside_is_said_where_it_is_so(
    day: Scenario, corner: Gate, raced: Outcome
) -> None:
    """Six of ten inside, one of ten elsewhere, as planted: both figures, and which is which."""
    found = told(day, corner, raced, 0.6, 0.1)
    assert [band.middle for band in found.thirds] == pytest.approx([0.6, 0.1, 0.1], abs=0.06)
    said = walks_said(found, len(SEEDS), "metric")
    assert said is not None
    assert said.text == "Inside at the pump corner 6 in 10 walk, outside 1 in 10 walks."
    assert "inside 6" in said.more
    turned = replace(found, thirds=found.thirds[::-1])
    assert walks_said(turned, 12, "metric").text.startswith("Outside at the pump corner 6 in 10")


def test_sides_drawn_by_lot_show_no_difference(day: Scenario, corner: Gate, raced: Outcome) -> None:
    """Placebo: as many walk everywhere. And where hardly anybody walks nothing is said."""
    said = walks_said(told(day, corner, raced, 0.4, 0.4), len(SEEDS), "metric")
    assert said is not None
    expected = "4 in 10 walk at the pump corner; inside or outside, no difference that we can see."
    assert said.text == expected
    assert walks_said(told(day, corner, raced, 0.02, 0.02), len(SEEDS), "metric") is None


def test_a_difference_that_the_inputs_could_undo_says_so(
    day: Scenario, corner: Gate, raced: Outcome
) -> None:
    found = replace(told(day, corner, raced, 0.6, 0.1), is_seen=False)
    said = walks_said(found, len(SEEDS), "metric")
    assert said is not None
    assert said.text.endswith(": more than chance, but what nobody has measured may undo that.")


def test_of_many_places_that_do_nothing_hardly_one_is_told(
    day: Scenario, corner: Gate, raced: Outcome
) -> None:
    """Ten places looked at together, nothing planted: none is beyond chance (Holm; fixed draws)."""
    watched = made_up(day, corner, raced, 0.3, 0.3)
    ten = []
    for number in range(10):
        random = np.random.default_rng(100 + number)
        races = tuple(
            replace(race, across=np.repeat(random.random((len(race.box), 1)), 3, axis=1))
            for race in watched.races
        )
        ten.append((0.0, replace(watched, races=races).walks(corner, 0)))
    assert not any(each.beyond_chance for _, each in judged(ten))


def test_of_too_few_no_share_is_told(day: Scenario, corner: Gate, raced: Outcome) -> None:
    watched = made_up(day, corner, raced, 0.6, 0.1)
    one = replace(watched, races=watched.races[:1], seeds=(1,))
    found = judged([(0.0, one.walks(corner, 0))])[0][1]
    counted = [band for band in found.thirds if np.isfinite(band.middle)]
    assert len(raced.box) / 3 < FEWEST
    assert not counted
    assert not found.beyond_chance


@pytest.mark.parametrize(
    ("share", "begins"),
    [(0.95, None), (0.6, "Better be on the right by here"), (0.2, "Be on the right by here")],
)
def test_where_one_has_to_be_is_said_where_it_is_late(
    corner: Gate, share: float, begins: str | None
) -> None:
    said = over_said(GetsOver(corner, Band(share, share, share), 200), 10)
    assert (said is None) == (begins is None)
    if said is not None and begins is not None:
        assert said.text.startswith(begins)
        assert said.text.endswith(f"from the left {round(10 * share)} in 10 get over.")
