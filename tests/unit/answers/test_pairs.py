"""One arm against another, out of numbers that are known: seconds, places, points, borrowed seconds."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from simrun.answers.boxes.pairs import LOST, REPAID, RUN, pairs_of, repaid_s
from simrun.trials.how_sure import by_chance_alone

TEAM = np.repeat([0, 1], 5)


def raced(times_s: list[float], best_s: list[float] | None = None) -> Any:
    """Ten runners of two teams at one mark; alone as told, or not known."""
    best = [np.nan] * 10 if best_s is None else best_s
    return SimpleNamespace(
        team_index=TEAM, crossing_s=np.array(times_s)[:, None], best_s=np.array(best)[:, None]
    )


OURS_FIRST = [10.0, 11, 12, 13, 14, 20, 21, 22, 23, 24]
ALONE = [9.0] * 5 + [np.nan] * 5


@pytest.mark.parametrize(
    ("read", "seconds", "places", "points"),
    [(RUN, -6.0, -2.0, -10.0), (LOST, 0.0, -2.0, -10.0), (REPAID, 0.0, 0.0, 0.0)],
)
def test_seconds_that_an_opening_borrowed_count_as_they_are_read(
    read: Any, seconds: float, places: float, points: float
) -> None:
    """Six seconds sooner, all six of them shown alone as well: won as run, nothing once given back.

    By hand: behind by half a field ours are 2nd, 4th, ... 10th, mean 6 ... and 1st, 2nd, ... as run.
    """
    behind = [16.5, 17.5, 18.5, 19.5, 20.5, 15, 16, 17, 18, 19]
    ahead = [t - 6 for t in behind[:5]] + behind[5:]
    one, other = raced(ahead, [3.0] * 5 + ALONE[5:]), raced(behind, ALONE)
    pairs = pairs_of(("gap",), ([one], [other]), 0, True, by_chance_alone, read=read)
    assert pairs.seconds[0, 0] == pytest.approx(seconds)
    # As run ours are 1 to 5, before that 3, 5, 7, 9, 10 less: worked out from the order of the ten times.
    order = np.argsort(np.argsort(behind))[:5] + 1
    assert pairs.places[0, 0] == pytest.approx(places * (order.mean() - 3) / 2)
    assert pairs.points[0] == pytest.approx(points * (order.sum() - 15) / 10)


def test_who_did_not_arrive_takes_the_pair_out_and_others_stay_as_run() -> None:
    """A mean over the same people or none; whose time alone is not known gives nothing back."""
    gone = raced([np.nan, *OURS_FIRST[1:]], ALONE)
    pairs = pairs_of(("gap",), ([gone], [raced(OURS_FIRST, ALONE)]), 0, True, by_chance_alone)
    assert np.isnan(pairs.seconds[0, 0])
    one, other = raced(OURS_FIRST, [8.0] * 5 + ALONE[5:]), raced(OURS_FIRST, ALONE)
    np.testing.assert_array_equal(repaid_s(one, other)[:, 0], np.add(OURS_FIRST, [1] * 5 + [0] * 5))


def test_an_arm_against_itself_is_nothing() -> None:
    """The placebo: exactly nothing, in seconds, places and points, whichever way it is read."""
    same = raced(OURS_FIRST, ALONE)
    for read in (RUN, LOST, REPAID):
        pairs = pairs_of(
            ("gap",), ([same, same], [same, same]), 0, True, by_chance_alone, read=read
        )
        assert not np.any(pairs.seconds)
        assert not np.any(pairs.places)
        assert not np.any(pairs.points)
        assert not pairs.found_points.is_seen
