"""One arm against another, out of numbers that are known: seconds, places, points."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from simrun.answers.boxes.pairs import pairs_of
from simrun.trials.how_sure import by_chance_alone

TEAM = np.repeat([0, 1], 5)


def raced(times_s: list[float]) -> Any:
    """Ten runners of two teams at one mark."""
    return SimpleNamespace(team_index=TEAM, crossing_s=np.array(times_s)[:, None])


OURS_FIRST = [10.0, 11, 12, 13, 14, 20, 21, 22, 23, 24]


def test_six_seconds_sooner_are_places_and_points() -> None:
    """By hand: 16.5 to 19.5 s among 15 to 19 s ours are 3rd, 5th, 7th, 9th and 10th: 6.8 in the mean and 34
    points; six seconds sooner they are 1st to 5th: 3 and 15.
    """
    behind = [16.5, 17.5, 18.5, 19.5, 20.5, 15, 16, 17, 18, 19]
    ahead = [t - 6 for t in behind[:5]] + behind[5:]
    pairs = pairs_of(("gap",), ([raced(ahead)], [raced(behind)]), 0, True, by_chance_alone)
    assert pairs.seconds[0, 0] == pytest.approx(-6.0)
    assert pairs.places[0, 0] == pytest.approx(3 - 6.8)
    assert pairs.points[0] == pytest.approx(15 - 34)


def test_who_did_not_arrive_takes_the_pair_out() -> None:
    """A mean over the same people or none."""
    gone = raced([np.nan, *OURS_FIRST[1:]])
    pairs = pairs_of(("gap",), ([gone], [raced(OURS_FIRST)]), 0, True, by_chance_alone)
    assert np.isnan(pairs.seconds[0, 0])


def test_an_arm_against_itself_is_nothing() -> None:
    """The placebo: exactly nothing, in seconds, places and points."""
    same = raced(OURS_FIRST)
    pairs = pairs_of(("gap",), ([same, same], [same, same]), 0, True, by_chance_alone)
    assert not np.any(pairs.seconds)
    assert not np.any(pairs.places)
    assert not np.any(pairs.points)
    assert not pairs.found_points.is_seen
