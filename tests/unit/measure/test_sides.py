"""Who walks in which third, who gets over, when nobody is at a place: by hand, the mirror, and placebos."""

from __future__ import annotations

from pathlib import Path

import numpy as np

import simrun
from simrun.course.strip import Side
from simrun.measure.squad.across_thirds import WALKS_M_S, get_over, walk_by_third
from simrun.measure.squad.nobody_there import LEAST_S, SPOT_M, comes_by, nobody_there

SCENARIOS = Path(__file__).parents[3] / "scenarios"


def test_who_walks_is_counted_third_by_third_from_the_inside() -> None:
    """Six runners by hand: the third on the very edge, one that never came, one of whom it is not asked."""
    across = np.array([0.0, 0.2, 0.5, 0.9, 1.0, np.nan, 0.1])
    slow = np.array([3.0, 3.0, 1.9, WALKS_M_S, 0.5, 1.0, 0.1])
    counted = np.array([True] * 6 + [False])
    left = walk_by_third(across, slow, counted, Side.LEFT)
    assert left.runners.tolist() == [2, 1, 2]
    assert left.walking.tolist() == [0, 1, 1]
    right = walk_by_third(1.0 - across, slow, counted, Side.RIGHT)
    assert right.by_third.tolist() == left.by_third.tolist() == [0.0, 1.0, 0.5]
    assert walk_by_third(across, slow, counted, Side.NONE).runners.tolist() == [2, 1, 2]


def test_an_empty_third_has_no_share() -> None:
    found = walk_by_third(np.array([0.1]), np.array([1.0]), np.array([True]), Side.LEFT)
    assert found.by_third[0] == 1.0
    assert np.isnan(found.by_third[1:]).all()


def test_who_gets_over_was_in_the_other_half_and_wanted_the_inside() -> None:
    here = np.array([0.9, 0.9, 0.1, 0.6, 0.7])
    there = np.array([0.1, 0.8, 0.1, 0.2, np.nan])
    wants = np.array([True, True, True, False, True])
    found = get_over(here, there, wants, Side.LEFT)
    assert (found.wanted, found.over) == (2, 1)
    mirrored = get_over(1.0 - here, 1.0 - there, wants, Side.RIGHT)
    assert (mirrored.wanted, mirrored.over) == (2, 1)


def test_where_nobody_moves_nobody_gets_over() -> None:
    """Placebo: the same place at both marks."""
    place = np.linspace(0.0, 1.0, 21)
    found = get_over(place, place, np.ones(21, dtype=bool), Side.LEFT)
    assert found.wanted > 5
    assert found.over == 0


def test_nobody_is_there_before_the_first_between_two_times_and_after_the_last() -> None:
    comes = [np.array([30.0, 50.0]), np.array([200.0, 230.0])]
    gone = [np.array([33.0, 55.0]), np.array([204.0, 240.0])]
    assert nobody_there(comes, gone) == ((0.0, 30.0), (55.0, 200.0), (240.0, np.inf))


def test_a_short_gap_is_none_and_who_is_still_out_closes_it() -> None:
    near = [np.array([LEAST_S - 1.0, 40.0]), np.array([40.0 + LEAST_S - 1.0, 90.0])]
    assert nobody_there(near, near) == ((90.0, np.inf),)
    out = [np.array([30.0, 50.0])]
    assert nobody_there(out, [np.array([33.0, np.nan])]) == ((0.0, 30.0),)
    assert nobody_there([np.array([np.nan])], [np.array([np.nan])]) == ((0.0, np.inf),)


def test_a_lap_that_is_run_twice_comes_by_twice_and_a_way_there_and_on_once() -> None:
    """Against the path itself: every metre of the way within the distance lies in a span, no other does."""
    strip = simrun.read(SCENARIOS / "ferry_meadow.toml").strip
    spot = np.array(strip.point_at(460.0))
    spans = comes_by(strip, 460.0)
    assert len(spans) == 2
    assert spans[0][0] < 460.0 < spans[0][1]
    for at in np.arange(0.0, strip.length_m, 7.0):
        away = float(np.hypot(*(np.array(strip.point_at(float(at))) - spot)))
        inside = any(low <= at <= high for low, high in spans)
        if abs(away - SPOT_M) > 3.0:
            assert inside == (away < SPOT_M), at
    fen = simrun.read(SCENARIOS / "brindle_fen.toml").strip
    assert len(comes_by(fen, 400.0)) == 1
