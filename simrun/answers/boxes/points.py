"""How many team points did the race cost every team, against the order of ability?"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simrun.measure.scoring import team_scores
from simrun.trials.races import Outcome

Array = NDArray[np.float64]


def points_of(outcome: Outcome, teams: int) -> Array:
    """The points of every team by the order at the last mark: (T,), nan for who scores none."""
    return points_by(outcome.team_index, outcome.crossing_s[:, -1], teams)


def points_lost(outcome: Outcome, teams: int) -> Array:
    """The same less the points that the order of ability would have given (see `measure.loss.clear_places`).

    What a strong team scores less anyhow is so no matter of its box. Check:
    tests/unit/answers/test_box_costs.py.
    """
    able = points_by(outcome.team_index, outcome.clear_place[:, -1], teams)
    return points_of(outcome, teams) - able


def points_by(team: NDArray[np.int64], order: Array, teams: int | None = None) -> Array:
    """The points of every team by this order of the runners, the lowest first: (T,)."""
    first = [int(team[i]) for i in order.argsort(kind="stable") if order[i] == order[i]]
    points = np.full(int(team.max()) + 1 if teams is None else teams, np.nan)
    for score in team_scores([str(t) for t in first]):
        points[int(score.team)] = score.points
    return points
