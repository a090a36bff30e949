"""Team points by hand: an order of finish written down, places counted with a pencil."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from simrun.measure.scoring import (
    TeamScore,
    points_by,
    points_lost,
    race_scores,
    scores_at,
    team_scores,
)

pytestmark = pytest.mark.oracle

MEET = list("ABACBACBACBACBACCBBBD")
"""A and C have six home, B eight, D one: D is taken out whole, and B's eighth displaces nobody."""


def test_a_meet_of_three_by_hand() -> None:
    """Every letter counted: the first five score, the sixth and seventh displace."""
    assert team_scores(MEET) == (
        TeamScore(1, "A", 31, (1, 3, 6, 9, 12), (15,)),
        TeamScore(2, "B", 40, (2, 5, 8, 11, 14), (18, 19)),
        TeamScore(3, "C", 50, (4, 7, 10, 13, 16), (17,)),
    )


def race(*times_s: tuple[str, float, float]) -> Any:
    """Who of which team passed two marks when."""
    teams, gate_s, line_s = zip(*times_s, strict=True)
    roster = SimpleNamespace(team=np.array(teams))
    return SimpleNamespace(roster=roster, crossing_s=np.array([gate_s, line_s], float).T)


def duel(a: list[int], b: list[int]) -> list[str]:
    """The order of finish in which A has these places and B those."""
    places = dict.fromkeys(a, "A") | dict.fromkeys(b, "B")
    return [places[place] for place in sorted(places)]


def points(order: list[str], tie: str | None = None) -> dict[str, tuple[int, int]]:
    return {score.team: (score.rank, score.points) for score in team_scores(order, tie)}


@pytest.mark.parametrize(
    ("order", "a", "b"),
    [
        ("ABBAABABAB", 26, 29),
        ("ABBAABBAAB", 27, 28),
        ("AAAAABBBBB", 15, 40),
        ("BAAAAAABBBB", 20, 39),
    ],
)
def test_duels_by_hand(order: str, a: int, b: int) -> None:
    """1 4 5 7 9 and 2 3 6 8 10; 1 4 5 8 9 and 2 3 6 7 10; a sweep; 2 to 6, and 1 8 9 10 11 behind a sixth."""
    assert points(list(order)) == {"A": (1, a), "B": (2, b)}


TIED = duel([1, 4, 5, 7, 11, 12], [2, 3, 6, 8, 9, 10])
"""A 1 + 4 + 5 + 7 + 11 and B 2 + 3 + 6 + 8 + 9 are 28 each. B's sixth is 10th, A's 12th. Of the pairs
1-2, 4-3, 5-6, 7-8, 11-9 A wins three."""


@pytest.mark.parametrize(
    ("tie", "ranks"),
    [
        (None, {"A": 1, "B": 1}),
        ("better sixth runner", {"A": 2, "B": 1}),
        ("majority of the five pairings", {"A": 1, "B": 2}),
    ],
)
def test_a_tie_by_hand(tie: str | None, ranks: dict[str, int]) -> None:
    """And a third team behind both, which is third whoever wins the tie."""
    for order, more in ((TIED, {}), ([*TIED, *["C"] * 5], {"C": 3})):
        found = points(order, tie)
        assert {team: rank for team, (rank, _) in found.items()} == ranks | more
        assert found["A"][1] == found["B"][1] == 28


def test_the_rule_is_handed_on_from_a_race_and_from_times() -> None:
    times_s = [100.0 + place for place in range(len(TIED))]
    ran = race(*((team, 50.0, at) for team, at in zip(TIED, times_s, strict=True)))
    for tie, first in ((None, 1), ("better sixth runner", 2)):
        for found in (race_scores(ran, tie=tie), scores_at(np.array(times_s), TIED, tie)):
            assert {score.team: score.rank for score in found}["A"] == first


def test_points_are_those_of_the_mark_asked_for() -> None:
    """At the gate A is in front, at the line B; who never came does not score. The line unless told."""
    rows = [("A", 10.0 + i, 40.0 + i) for i in range(5)] + [
        ("B", 20.0 + i, 30.0 + i) for i in range(6)
    ]
    rows[-1] = ("B", 25.0, float("nan"))
    ran = race(*rows)
    at_gate = {score.team: score.points for score in race_scores(ran, 0)}
    at_line = {score.team: (score.points, score.displacers) for score in race_scores(ran)}
    assert at_gate == {"A": 15, "B": 40}
    assert at_line == {"A": (40, ()), "B": (15, ())}


def test_equal_times_keep_the_order_of_the_list() -> None:
    """Many of them, so that a sort that swaps equals would be found out."""
    teams = ["A", "B"] * 40
    (first, second) = scores_at(np.full(80, 60.0), teams)
    assert (first.team, first.scorers, first.displacers) == ("A", (1, 3, 5, 7, 9), (11, 13))
    assert (second.team, second.scorers, second.displacers) == ("B", (2, 4, 6, 8, 10), (12, 14))


NUMBERED = np.array(["ABCD".index(team) for team in MEET])
AS_WRITTEN = np.arange(10.0, 10.0 + len(MEET))


def test_points_by_team_number_by_hand() -> None:
    """The meet of three again, with numbers for teams: D, and a fifth that nobody runs for, score none."""
    for teams, more in ((None, []), (5, [np.nan])):
        found = points_by(NUMBERED, AS_WRITTEN, teams)
        np.testing.assert_array_equal(found, [31.0, 40.0, 50.0, np.nan, *more])


def test_who_did_not_finish_is_not_counted_in_points() -> None:
    """A's second stays out: five are left, 1 + 5 + 8 + 11 + 14, and B has 2 + 4 + 7 + 10 + 13."""
    out = AS_WRITTEN.copy()
    out[2] = np.nan
    np.testing.assert_array_equal(
        points_by(NUMBERED, out), [39.0, 36.0, 3 + 6 + 9 + 12 + 15, np.nan]
    )


def test_of_many_equal_times_the_list_decides_in_points_too() -> None:
    """Forty each, by turns: 1 + 3 + 5 + 7 + 9 and 2 + 4 + 6 + 8 + 10."""
    assert points_by(np.tile([0, 1], 40), np.full(80, 60.0)).tolist() == [25.0, 30.0]


def test_points_lost_by_hand() -> None:
    """Two of five: A by ability sweeps, 15 to 40; in the race they come in by turns, 25 to 30."""
    team = np.repeat([0, 1], 5)
    by_ability = np.arange(1.0, 11.0)
    by_turns_s = np.array([1.0, 3.0, 5.0, 7.0, 9.0, 2.0, 4.0, 6.0, 8.0, 10.0])
    assert points_lost(team, by_turns_s, by_ability).tolist() == [10.0, -10.0]
    found = points_lost(team, by_turns_s, by_ability, 3)
    np.testing.assert_array_equal(found, [10.0, -10.0, np.nan])
