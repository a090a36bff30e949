"""The queue audit on worlds with a known answer: who leaves when, what a queue costs, what is full."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

import simrun
from simrun.answers.card.card_races import timed_at
from simrun.answers.evidence.experiments.audit import (
    FEWEST,
    HEAD,
    audit_cells,
    audit_table,
    queue_audit,
    saturated_flow_per_s,
    thirds_of,
)
from simrun.measure.hand_queue import queue_delay_s

DUAL = Path(__file__).parents[3] / "scenarios" / "dual_meet.toml"


def test_thirds_are_told_by_who_leaves_first_and_hold_only_who_left() -> None:
    """Seven runners of whom one never left: two, two and two."""
    first, middle, last = thirds_of(np.array([9.0, 3.0, np.nan, 1.0, 7.0, 5.0, 11.0]))
    assert (first.tolist(), middle.tolist(), last.tolist()) == ([3, 1], [5, 4], [0, 6])


def test_a_place_that_is_saturated_shows_its_capacity() -> None:
    """Thirty free runners, sixty who are slowed and leave four a second, thirty free ones."""
    free, full = np.arange(30) * 2.0, 60.0 + np.arange(60) / 4.0
    late = full[-1] + 2.0 * (1 + np.arange(30))
    share = np.concatenate([np.ones(30), np.full(60, 0.5), np.ones(30)])
    left = np.concatenate([free, full, late])
    assert saturated_flow_per_s(left, share, 4 * share, 2.0) == pytest.approx(4.0, rel=1e-9)
    # On 12 m the same file is somebody slow who is followed, with all the room beside.
    assert np.isnan(saturated_flow_per_s(left, share, 4 * share, 12.0))


def test_a_place_that_never_was_saturated_shows_none() -> None:
    """However many leave a second; and a handful of slow ones is no queue."""
    times = np.arange(100) / 20.0
    assert np.isnan(saturated_flow_per_s(times, np.ones(100), np.ones(100), 2.0))
    few = np.where(np.arange(100) < FEWEST - 8, 0.5, 1.0)
    assert np.isnan(saturated_flow_per_s(times, few, np.ones(100), 2.0))
    assert np.isnan(saturated_flow_per_s(times[:5], np.full(5, 0.1), np.ones(5), 2.0))


def test_the_queue_is_that_of_the_closed_form() -> None:
    """All at once before a capacity of 4 a second: the runner of rank n waits (n - 1) / 4 s."""
    np.testing.assert_allclose(queue_delay_s(np.zeros(20), 4.0), np.arange(20) / 4.0)


@pytest.fixture(scope="module")
def audit() -> Any:
    return queue_audit([simrun.read(DUAL)], seeds=(1, 2))


def test_every_section_of_a_small_meet_is_told(audit: Any) -> None:
    """From the gun to the last mark, in order; the three delays of a runner's third add up over places."""
    table = audit_table(audit)
    assert table["section"].tolist()[:3] == ["standing", "village green", "gate"]
    assert "mill corner" in set(table["section"])
    assert (table["to_m"].to_numpy()[1:-1] == table["from_m"].to_numpy()[2:]).all()
    assert (table["races"] == 2).all()
    assert (table["left_out"] == 0).all()
    assert (table["queue_low_middle_s"] <= table["queue_high_middle_s"] + 1e-9).all()
    assert len(audit_cells(audit)) == 1 + len(audit)
    assert {len(row) for row in audit_cells(audit)} == {len(HEAD)}


def test_the_whole_field_loses_what_the_table_says(audit: Any) -> None:
    """Mean delays of the thirds, weighted by who is in them, add up to the mean traffic of the table."""
    day = timed_at(simrun.read(DUAL), [402.336])
    traffic = []
    for seed in (1, 2):
        table = simrun.time_lost(simrun.race(day, seed))
        traffic.append(table["traffic_s"].mean())
    sizes = np.array([7, 7, 6])  # twenty runners
    for race, expected in enumerate(traffic):
        told = sum((section.delay_s[race] * sizes).sum() for section in audit) / sizes.sum()
        assert told == pytest.approx(expected, abs=1e-9)


def test_a_section_that_costs_far_more_than_a_queue_is_missed(audit: Any) -> None:
    """The planted fault: ten seconds in the open, where a queue loses none."""
    from dataclasses import replace

    green = audit[1]
    assert green.meets_published
    assert green.meets_own
    slow = replace(green, delay_s=green.delay_s + 10.0)
    assert not slow.meets_published
    assert not slow.meets_own
