"""Team points out of the order of finish: edges and mistakes."""

from __future__ import annotations

from itertools import chain, permutations, product
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.measure.scoring import race_scores, team_scores

pytestmark = pytest.mark.oracle


def test_nobody_or_no_whole_team_is_no_score() -> None:
    """An empty race and four lone runners give an empty table, not an error."""
    assert team_scores([]) == ()
    assert team_scores(["A", "B", "C", "A"]) == ()


def test_one_team_alone_scores_fifteen() -> None:
    """1 + 2 + 3 + 4 + 5, with nobody to displace it."""
    (score,) = team_scores(["A"] * 5)
    assert (score.rank, score.points, score.displacers) == (1, 15, ())


def test_who_has_no_sixth_loses_the_tie() -> None:
    """Five against seven at equal points: only one team has a sixth; with none on either side it stays."""
    scores = team_scores(list("ABBAABABBBAB"), "better sixth runner")
    assert [(s.team, s.rank, s.points) for s in scores] == [("B", 1, 28), ("A", 2, 28)]
    assert scores[1].displacers == ()
    assert [s.rank for s in team_scores(ring_order(), "better sixth runner")] == [1, 1, 1]


def test_three_teams_that_beat_each_other_in_a_ring_stay_equal() -> None:
    """The rule of pairings cannot part A over B over C over A: rank 1 three times, then rank 4."""
    order = ring_order()
    scores = team_scores([*order, *["D"] * 5], "majority of the five pairings")
    assert [score.rank for score in scores] == [1, 1, 1, 4]
    assert len({score.points for score in scores[:3]}) == 1


def ring_order() -> list[str]:
    """An order of three fives with equal points (40 each) in which each beats the next 3 - 2."""
    rounds = product(permutations("ABC"), repeat=5)
    return next(order for order in map(list, map(chain.from_iterable, rounds)) if is_ring(order))


def is_ring(order: list[str]) -> bool:
    places = {team: [i + 1 for i, t in enumerate(order) if t == team] for team in "ABC"}

    def beats(one: str, other: str) -> bool:
        return sum(x < y for x, y in zip(places[one], places[other], strict=True)) >= 3

    equal = len({sum(row) for row in places.values()}) == 1
    return equal and beats("A", "B") and beats("B", "C") and beats("C", "A")


def test_an_unknown_rule_names_the_nearest() -> None:
    """One line with what is allowed."""
    with pytest.raises(BadInput, match="did you mean 'better sixth runner'"):
        team_scores(["A"] * 5, "better sixth runer")


def recording(times: list[float], teams: list[str]) -> Any:
    roster = SimpleNamespace(team=np.array(teams))
    return SimpleNamespace(roster=roster, crossing_s=np.array(times)[:, None])


def test_a_race_is_scored_by_time_and_without_those_who_never_came() -> None:
    """Times out of order; nan is not a finisher, so B with four times left is taken out."""
    times = [5.0, 1.0, 2.0, 9.0, 4.0, 3.0, 6.0, 7.0, 8.0, np.nan]
    (score,) = race_scores(recording(times, ["A"] * 5 + ["B"] * 5))
    assert (score.team, score.scorers) == ("A", (1, 2, 3, 4, 5))
    all_home = race_scores(recording([*times[:9], 10.0], ["A"] * 5 + ["B"] * 5))
    assert {s.team: s.scorers for s in all_home} == {"A": (1, 2, 4, 5, 9), "B": (3, 6, 7, 8, 10)}
