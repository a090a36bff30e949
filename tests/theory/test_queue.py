"""The deterministic queue in closed form: a throat that lets so many through a second."""

from __future__ import annotations

import numpy as np
import pytest

from simrun.answers.evidence.experiments.queue import (
    free_straight_m,
    line_arrivals_s,
    queue_delay_s,
    through_s,
)
from simrun.sources import figure


@pytest.mark.parametrize("capacity", [0.5, 4.0, 16.0])
def test_all_at_once_the_rank_is_what_is_lost(capacity: float) -> None:
    """Does the runner of rank n lose (n - 1) / C, and the field (N - 1) / 2C in the mean?

    deterministic queue, for example Newell; computed
    """
    delay = queue_delay_s(np.full(120, 3.0), capacity)
    np.testing.assert_allclose(delay, np.arange(120) / capacity, rtol=1e-12)
    assert delay.mean() == pytest.approx(119 / (2 * capacity), rel=1e-12)


def test_the_total_does_not_depend_on_who_goes_first() -> None:
    """Is the field's total loss the same whoever arrives when?

    deterministic queue, for example Newell; computed
    """
    rng = np.random.default_rng(1)
    arrival = rng.uniform(0, 20, 200)
    totals = [queue_delay_s(rng.permutation(arrival), 6.0).sum() for _ in range(5)]
    assert totals == pytest.approx([totals[0]] * 5, rel=1e-12)
    assert totals[0] > 1000


def test_nobody_waits_where_there_is_room() -> None:
    """Does nobody lose anything when they come further apart than 1/C?

    computed
    """
    assert queue_delay_s(np.arange(0, 50, 0.5), 2.0).max() == 0.0
    assert queue_delay_s(np.arange(0, 50, 0.5), 1.99).max() > 0.0


@pytest.mark.parametrize(
    ("key", "what"),
    [
        ("crowd.queue_last_through_s", "last"),
        ("crowd.queue_mean_delay_s", "mean"),
        ("crowd.queue_largest_delay_s", "largest"),
    ],
)
def test_the_line_of_100_m(key: str, what: str) -> None:
    """Line 100 m, throat on the centre line 300 m away, 200 runners, 5.0 m/s, 16 through a second.

    72.44, 5.94 and 11.61 s: deterministic queue; computed
    """
    arrival = line_arrivals_s(200, 100.0, 300.0, 5.0)
    delay = queue_delay_s(arrival, 16.0)
    found = {"last": (arrival + delay).max(), "mean": delay.mean(), "largest": delay.max()}[what]
    assert figure(key).holds(found), figure(key).against(found)


def test_the_hand_calculation_written_out() -> None:
    """The same without the recursion: the first is there after 300.001 m, then one each 1/16 s, because
    everybody else is there before a place is free.

    computed
    """
    first = np.hypot(50 / 199, 300.0) / 5.0
    assert line_arrivals_s(200, 100.0, 300.0, 5.0).min() == pytest.approx(first, rel=1e-12)
    assert first + 199 / 16 == pytest.approx(72.44, abs=0.005)
    assert first + 199 / 16 - np.hypot(50, 300) / 5 == pytest.approx(11.61, abs=0.005)


def test_the_straight_beyond_which_no_queue_forms() -> None:
    """Is it 356 m for 200 runners of 5 +/- 0.35 m/s and 16 a second, and twice that for half the spread?

    deterministic queue, peak of the arrivals equal to the capacity; computed
    """
    key = figure("crowd.queue_free_straight_m")
    found = free_straight_m(200, 5.0, 0.35, 16.0)
    assert key.holds(found), key.against(found)
    assert free_straight_m(200, 5.0, 0.175, 16.0) == pytest.approx(2 * found, rel=1e-12)


def test_that_straight_is_where_the_arrivals_peak_at_the_capacity() -> None:
    """Draw many speeds, let them run that far: is the densest second as dense as the throat can take?

    computed; 5 %: the peak of a ratio of normal speeds lies a little off that of the formula, and 2 %
    counting error
    """
    count, spread = 200, 0.35
    speeds = np.random.default_rng(1).normal(5.0, spread, 400_000)
    arrival = free_straight_m(count, 5.0, spread, 16.0) / speeds
    each_second, _ = np.histogram(arrival, bins=np.arange(40, 110, 1.0))
    assert each_second.max() * count / len(speeds) == pytest.approx(16.0, rel=0.05)


@pytest.mark.parametrize(
    ("people", "width_m", "flow_key", "time_key"),
    [
        (165, 1.4, "crowd.door_165_flow_per_s", "crowd.door_165_s"),
        (200, 3.0, "crowd.corridor_200_flow_per_s", "crowd.corridor_200_s"),
    ],
)
def test_door_and_corridor(people: int, width_m: float, flow_key: str, time_key: str) -> None:
    """How long do 165 people take through a door of 1.4 m, and 200 along a corridor of 3.0 m, at a specific
    flow of 1.3 persons a second and metre?

    1.82 /s and 91 s, 3.90 /s and 51 s: IMO MSC/Circ.1166 appendix 5; seen
    """
    flow, time = figure(flow_key), figure(time_key)
    assert flow.holds(1.3 * width_m), flow.against(1.3 * width_m)
    found = through_s(people, width_m, 1.3)
    assert time.holds(found), time.against(found)
