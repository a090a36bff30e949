"""Team scores as the rule books count them, and every order of two teams counted through."""

from __future__ import annotations

from itertools import combinations

import pytest

from simrun.measure.scoring import TeamScore, team_scores

pytestmark = pytest.mark.oracle


def order_of(first: list[int], second: list[int]) -> list[str]:
    """The order of finish in which team A has these places and team B those."""
    team = dict.fromkeys(first, "A") | dict.fromkeys(second, "B")
    return [team[place] for place in sorted(team)]


def by_name(scores: tuple[TeamScore, ...]) -> dict[str, TeamScore]:
    return {score.team: score for score in scores}


def every_order(runners: int) -> list[list[str]]:
    """Every order of finish of two teams of so many."""
    places = range(2 * runners)
    return [
        ["A" if place in taken else "B" for place in places]
        for taken in map(set, combinations(places, runners))
    ]


def test_an_ordinary_dual() -> None:
    """1 2 7 9 10 against 3 4 5 6 8 is 29 - 26; the sixth and seventh only displace.

    The printed places behind the tenth go to 16, so somebody who does not count stood between.
    Source: worked example of a college rule book, as in section E of the checks; seen.
    """
    first, second = [1, 2, 7, 9, 10, 11, 13], [3, 4, 5, 6, 8, 12, 16]
    scores = by_name(team_scores(order_of(first, second)))
    assert scores["A"].points == 29
    assert scores["B"].points == 26
    assert scores["B"].rank == 1
    assert scores["A"].scorers == (1, 2, 7, 9, 10)
    assert scores["A"].displacers == (11, 13)


def test_a_shutout_drops_the_eighth() -> None:
    """15 - 50: the winner's eighth runner, home before the losers' first, takes no place.

    Source: worked example of a college rule book, as in section E of the checks; seen.
    """
    scores = by_name(team_scores(["A"] * 8 + ["B"] * 7))
    assert (scores["A"].points, scores["B"].points) == (15, 50)
    assert scores["B"].scorers == (8, 9, 10, 11, 12)


TIED = order_of([1, 4, 5, 7, 11, 12, 13], [2, 3, 6, 8, 9, 10, 14])


@pytest.mark.parametrize(
    ("tie", "ranks"),
    [
        (None, {"A": 1, "B": 1}),
        ("better sixth runner", {"A": 2, "B": 1}),
        ("majority of the five pairings", {"A": 1, "B": 2}),
    ],
)
def test_the_rule_for_ties_is_a_named_choice(tie: str | None, ranks: dict[str, int]) -> None:
    """28 - 28: the better sixth gives it to one, three of the five pairings to the other.

    Source: college practice, as in section E of the checks; seen.
    """
    scores = by_name(team_scores(TIED, tie))
    assert {score.points for score in scores.values()} == {28}
    assert {team: score.rank for team, score in scores.items()} == ranks


def test_a_team_of_four_is_taken_out_and_the_rest_ranked_anew() -> None:
    """Four of C run 1 to 4: A and B are scored as if C had stayed at home.

    Source: rule books, as in section E of the checks; seen.
    """
    two = order_of([1, 2, 7, 9, 10, 11, 13], [3, 4, 5, 6, 8, 12, 14])
    assert team_scores(["C"] * 4 + two) == team_scores(two)
    assert "C" in by_name(team_scores(["C"] * 5 + two))


def test_every_order_of_seven_against_seven() -> None:
    """3432 orders: scores from 15 to 50, 56 ties, and all 330 sweeps of the first three win.

    Source: enumeration; computed.
    """
    orders = every_order(7)
    found = [by_name(team_scores(order)) for order in orders]
    points = [(scores["A"].points, scores["B"].points) for scores in found]
    assert len(orders) == 3432
    assert (min(map(min, points)), max(map(max, points))) == (15, 50)
    assert sum(a == b for a, b in points) == 56
    sweeps = [p for p, order in zip(points, orders, strict=True) if order[:3] == ["A"] * 3]
    assert len(sweeps) == 330
    assert all(a < b for a, b in sweeps)


def test_every_order_of_five_against_five() -> None:
    """252 orders, no tie: the points add up to 55, which is odd.

    Source: enumeration; computed.
    """
    scores = [team_scores(order) for order in every_order(5)]
    assert len(scores) == 252
    assert all(sum(s.points for s in pair) == 55 for pair in scores)
    assert all(pair[0].points < pair[1].points for pair in scores)
