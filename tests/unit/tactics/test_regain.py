"""Running lost seconds back: what it costs, against the arithmetic of critical speed and reserve."""

from __future__ import annotations

import math

import pytest

from simrun.tactics.regain import AT_ONCE, EVENLY, LATE, even_share, regain_share

PACE, CRITICAL, DEARER, MOST = 5.0, 4.8, 0.1, 0.03


def run(lost_s: float, spare: float, way: str) -> tuple[float, float]:
    """Run 4000 m metre by metre this way: seconds run back, and metres of the reserve that it cost."""
    won, cost, begun = 0.0, 0.0, False
    for metre in range(4000):
        even = even_share(lost_s - won, spare - cost, 4000.0 - metre, CRITICAL, PACE, DEARER)
        share = regain_share(way, even, MOST, begun)
        begun |= way == LATE and share > 0.0
        speed = PACE * (1.0 + share)
        won += 1.0 / PACE - 1.0 / speed
        planned = (PACE - CRITICAL) / PACE
        cost += (speed - CRITICAL + DEARER * (speed - PACE)) / speed - planned
    return won, cost


@pytest.mark.parametrize("way", [AT_ONCE, EVENLY, LATE])
def test_every_way_runs_back_what_is_spare_over_what_a_second_costs(way: str) -> None:
    """t = spare / (critical + dearer pace): 20 m are 3.8 s, however they are spent; no more than is lost."""
    won, cost = run(10.0, 20.0, way)
    assert won == pytest.approx(20.0 / (CRITICAL + DEARER * PACE), rel=0.01)
    assert cost == pytest.approx(20.0, rel=0.01)
    won, cost = run(2.0, 20.0, way)
    assert won == pytest.approx(2.0, rel=0.01)
    assert cost == pytest.approx(2.0 * (CRITICAL + DEARER * PACE), rel=0.01)


def test_the_even_share_is_the_one_that_ends_at_the_finish() -> None:
    """Over 4000 m at 5 m/s 20 m are worth q = 20 / 1.06 / 4000; two seconds need only 2 x 5 / 4000."""
    for lost, q in ((10.0, 20.0 / (0.96 + 0.1) / 4000.0), (2.0, 2.0 * 5.0 / 4000.0)):
        share = even_share(lost, 20.0, 4000.0, CRITICAL, PACE, DEARER)
        assert share == pytest.approx(q / (1.0 - q))
        assert 4000.0 / PACE - 4000.0 / (PACE * (1.0 + share)) == pytest.approx(q * 800.0)


def test_the_ways_differ_in_where_they_begin() -> None:
    """At once: the hardest from the start; evenly: a little all the way; late: nothing, then the hardest."""
    early = even_share(10.0, 20.0, 4000.0, CRITICAL, PACE, DEARER)
    assert 0.0 < early < MOST / 2
    assert regain_share(AT_ONCE, early, MOST, False) == MOST
    assert regain_share(EVENLY, early, MOST, False) == early
    assert regain_share(LATE, early, MOST, False) == 0.0
    assert regain_share(LATE, early, MOST, True) == MOST
    assert regain_share(LATE, 1.01 * MOST, MOST, False) == MOST
    assert regain_share(EVENLY, 1.01 * MOST, MOST, False) == MOST


@pytest.mark.parametrize("way", [AT_ONCE, EVENLY, LATE])
def test_who_owes_nothing_or_has_nothing_runs_by_plan(way: str) -> None:
    """Nothing lost, nothing spare, less than nothing of either."""
    for lost, spare in ((0.0, 50.0), (-1.0, 50.0), (10.0, 0.0), (10.0, -3.0)):
        even = even_share(lost, spare, 3000.0, CRITICAL, PACE, DEARER)
        assert regain_share(way, even, MOST, True) == 0.0
    assert math.isinf(even_share(10.0, 50.0, 1.0, CRITICAL, PACE, DEARER))
