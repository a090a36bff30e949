"""What does one arm bring our team against another, the same people in both? Seconds, places, points."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.answers.boxes.points import points_by
from simrun.measure.loss import places
from simrun.trials.how_sure import Judge, Sure
from simrun.trials.races import Outcome

Array = NDArray[np.float64]

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
) -> Pairs:
    """The first arm less the second, race by race, as it was run.

    ours: the number of our team; scored: is there a finish? Check: tests/unit/answers/test_pairs.py.
    """
    found = [
        (_of(one, ours, scored), _of(other, ours, scored)) for one, other in zip(*arms, strict=True)
    ]
    seconds, placed, points = (np.stack([a[part] - b[part] for a, b in found]) for part in range(3))
    return Pairs(checkpoints, seconds, placed, points, judge)


def _of(outcome: Outcome, ours: int, scored: bool) -> tuple[Array, Array, Array]:
    """Mean seconds and places of our team by mark, (C,) each, and its points at the last."""
    rows = outcome.team_index == ours
    points = points_by(outcome.team_index, outcome.crossing_s[:, -1])[ours]
    where = places(outcome.crossing_s)[rows]
    return _mean(outcome.crossing_s[rows]), _mean(where), np.asarray(points if scored else np.nan)


def _mean(values: Array) -> Array:
    """The mean over runners of each mark, nan where not all arrived: a pair is of the same people."""
    return np.asarray(values.mean(axis=0))
