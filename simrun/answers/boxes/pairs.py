"""What does one arm bring our team against another, the same people in both? Seconds, places, points."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from simrun.measure.loss import places
from simrun.measure.scoring import points_by
from simrun.trials.how_sure import Judge, Sure
from simrun.trials.races import Outcome

Array = NDArray[np.float64]

Reading = Literal["lost", "repaid", "run"]
LOST: Reading = "lost"
REPAID: Reading = "repaid"
RUN: Reading = "run"

NAMES = ("cost_s", "cost_places", "cost_points")


@dataclass(frozen=True)
class Pairs:
    """One arm less another, seed by seed: seconds and places (S, C) a runner, points (S,), nan for none."""

    checkpoints: tuple[str, ...]
    seconds: Array
    places: Array
    points: Array
    judge: Judge

    def found(self, mark: str) -> tuple[Sure, Sure]:
        """Seconds and places that the one arm costs our team by this mark."""
        c = self.checkpoints.index(mark)
        return self.judge(self.seconds[:, c]), self.judge(self.places[:, c])

    @property
    def found_points(self) -> Sure:
        """Points that it costs at the last mark."""
        return self.judge(self.points)

    def rows(self, begins: Mapping[str, object]) -> list[dict[str, object]]:
        """A row a checkpoint, each with `begins` before it; points at the last.

        Each cost with its 95 % interval over the pairs of races (_low, _high), that of chance alone, its
        p-value (_p) and how many pairs.
        """
        rows: list[dict[str, object]] = []
        for mark in self.checkpoints:
            points = self.found_points if mark == self.checkpoints[-1] else self.judge([])
            row: dict[str, object] = {**begins, "checkpoint": mark}
            for name, sure in zip(NAMES, (*self.found(mark), points), strict=True):
                row |= sure.columns(name) | {f"{name}_p": sure.p_value, f"{name}_pairs": sure.count}
            rows.append(row)
        return rows


def pairs_of(
    checkpoints: tuple[str, ...],
    arms: tuple[Sequence[Outcome], Sequence[Outcome]],
    ours: int,
    scored: bool,
    judge: Judge,
    *,
    read: Reading = LOST,
) -> Pairs:
    """The first arm less the second, race by race. ours: the number of our team; scored: is there a finish?

    read: LOST has seconds lost, and places and points as they were run; REPAID has those too with the seconds
    that openings borrowed given back (`repaid_s`); RUN has all as it was run. Check:
    tests/unit/answers/test_pairs.py.
    """
    found = []
    for one, other in zip(*arms, strict=True):
        run_s, repaid = one.crossing_s, repaid_s(one, other)
        times = (run_s if read == RUN else repaid, repaid if read == REPAID else run_s)
        run = (other.crossing_s, other.crossing_s)
        found.append((_of(one, times, ours, scored), _of(other, run, ours, scored)))
    seconds, placed, points = (np.stack([a[part] - b[part] for a, b in found]) for part in range(3))
    return Pairs(checkpoints, seconds, placed, points, judge)


def repaid_s(outcome: Outcome, against: Outcome) -> Array:
    """Everybody's times at the marks, (N, C), the seconds that their openings borrowed given back.

    Where nobody races for places a faster opening is a gift: the pace after it is the plan's whatever was
    spent. So from everybody is taken what they alone, from the best box on the shortest line, are faster
    than in `against`: one second for one. Whose alone-runs are not known keeps what was run.
    """
    return np.asarray(outcome.crossing_s - np.nan_to_num(outcome.best_s - against.best_s))


def _of(
    outcome: Outcome, times_s: tuple[Array, Array], ours: int, scored: bool
) -> tuple[Array, Array, Array]:
    """Mean seconds of our team by mark (C,) by the first times (N, C); places and points by the second."""
    rows = outcome.team_index == ours
    lost_s, order_s = times_s
    points = points_by(outcome.team_index, order_s[:, -1])[ours]
    where = places(order_s)[rows]
    return _mean(lost_s[rows]), _mean(where), np.asarray(points if scored else np.nan)


def _mean(values: Array) -> Array:
    """The mean over runners of each mark, nan where not all arrived: a pair is of the same people."""
    return np.asarray(values.mean(axis=0))
