"""Who wins the meet? Team points out of the order of finish.

Five score, two displace: the places of a team's first five are added up, the next two only push the
places of others back, and whoever comes after them is taken out before places are given. A team with
fewer than five finishers is taken out whole, and the rest is ranked anew. Fewest points win.
Source: rule books of school and college cross country (seen). Check: tests/validation/test_scoring_rules.py.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem, nearest_word

if TYPE_CHECKING:
    from simrun.state.recording import Recording

SCORERS, DISPLACERS = 5, 2


@dataclass(frozen=True)
class TeamScore:
    """One team's result: rank among the teams (equals share the better one), points, places.

    scorers: the team places that are added up; displacers: those of the sixth and seventh, as far as
    they finished.
    """

    rank: int
    team: str
    points: int
    scorers: tuple[int, ...]
    displacers: tuple[int, ...]


def team_scores(order: Sequence[str], tie: str | None = None) -> tuple[TeamScore, ...]:
    """What does every team score when its runners finish in this order? Best first.

    order: the team of the first home, of the second, and so on, for finishers only. tie: None leaves
    equal points equal; "better sixth runner" or "majority of the five pairings" part them as far as
    the rule can. Raises BadInput for a rule of another name.
    """
    better = _rule(tie)
    places = _team_places(order)
    found = [
        TeamScore(0, team, sum(row[:SCORERS]), tuple(row[:SCORERS]), tuple(row[SCORERS:]))
        for team, row in places.items()
    ]
    found.sort(key=lambda score: (score.points, score.team))
    ranked: list[TeamScore] = []
    for _, equals in groupby(found, key=lambda score: score.points):
        ranked += _ranked(list(equals), len(ranked), better)
    return tuple(ranked)


def race_scores(
    recording: Recording, checkpoint: int = -1, tie: str | None = None
) -> tuple[TeamScore, ...]:
    """What would every team score if the race ended at this checkpoint? Best first.

    Whoever did not cross it within the limit did not finish. Equal times keep the order of the entry
    list: there is no judge at the line.
    """
    return scores_at(recording.crossing_s[:, checkpoint], recording.roster.team.tolist(), tie)


def scores_at(
    time_s: NDArray[np.float64], teams: Sequence[str], tie: str | None = None
) -> tuple[TeamScore, ...]:
    """The same out of times (N,), nan for who did not get there, and everybody's team (N,)."""
    order = [teams[i] for i in time_s.argsort(kind="stable") if time_s[i] == time_s[i]]
    return team_scores(order, tie)


def _team_places(order: Sequence[str]) -> dict[str, list[int]]:
    """The places of every team that scores, of its first seven, counted among those alone."""
    finishers, home = Counter(order), Counter[str]()
    places: dict[str, list[int]] = {}
    place = 0
    for team in order:
        home[team] += 1
        if finishers[team] >= SCORERS and home[team] <= SCORERS + DISPLACERS:
            place += 1
            places.setdefault(team, []).append(place)
    return places


Better = Callable[[TeamScore, TeamScore], bool]


def _sixth(score: TeamScore) -> float:
    """The place of the sixth, behind everybody where there is none."""
    return score.displacers[0] if score.displacers else math.inf


def _better_sixth(one: TeamScore, other: TeamScore) -> bool:
    """Is the first team's sixth runner ahead of the other's? To have none is to be behind."""
    return _sixth(one) < _sixth(other)


def _more_pairings(one: TeamScore, other: TeamScore) -> bool:
    """First against first, second against second: does the first team win three of the five?"""
    won = int(np.less(one.scorers, other.scorers).sum())
    return won > SCORERS / 2


TIE_RULES: dict[str, Better] = {
    "better sixth runner": _better_sixth,
    "majority of the five pairings": _more_pairings,
}
"""Rule books differ, so the rule is named. Source: college practice (seen)."""


def _rule(tie: str | None) -> Better:
    if tie is None:
        return lambda one, other: False
    if tie not in TIE_RULES:
        allowed = "one of " + ", ".join(map(repr, TIE_RULES))
        raise BadInput(Problem("tie", repr(tie), allowed, nearest_word(tie, TIE_RULES)))
    return TIE_RULES[tie]


def _ranked(equals: list[TeamScore], before: int, better: Better) -> list[TeamScore]:
    """Teams of equal points: ranked by how many of the others they beat, still equal if as many."""
    wins = [sum(better(team, other) for other in equals) for team in equals]
    ranks = [1 + before + sum(more > own for more in wins) for own in wins]
    order = sorted(range(len(equals)), key=lambda i: ranks[i])
    return [replace(equals[i], rank=ranks[i]) for i in order]


def points_by(
    team: NDArray[np.int64], order: NDArray[np.float64], teams: int | None = None
) -> NDArray[np.float64]:
    """The points of every team by this order of the runners, the lowest first: (T,), nan for who scores none.

    team (N,): the number of everybody's team; order (N,): a time or a place, nan for who did not finish.
    """
    first = [int(team[i]) for i in order.argsort(kind="stable") if order[i] == order[i]]
    points = np.full(int(team.max()) + 1 if teams is None else teams, np.nan)
    for score in team_scores([str(t) for t in first]):
        points[int(score.team)] = score.points
    return points


def points_lost(
    team: NDArray[np.int64],
    time_s: NDArray[np.float64],
    clear_place: NDArray[np.float64],
    teams: int | None = None,
) -> NDArray[np.float64]:
    """How many points did the race cost every team, against the order of ability? (T,)

    clear_place (N,): see `measure.loss.clear_places`. What a strong team scores less anyhow is so no matter
    of its box. Check: tests/unit/answers/test_box_costs.py.
    """
    return points_by(team, time_s, teams) - points_by(team, clear_place, teams)
