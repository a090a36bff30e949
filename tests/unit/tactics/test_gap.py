"""Which track is chosen, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from simrun.tactics.gap import best_track, promised_speed_m_s, worth_m_s


def test_who_follows_at_its_own_gap_is_promised_the_leaders_speed() -> None:
    """And not more: else nobody would ever look for a way past. Gaps beyond it promise more."""
    assert promised_speed_m_s(4.0, 2.3, 2.3, 2.0) == 4.0
    assert promised_speed_m_s(4.0, 4.3, 2.3, 2.0) == pytest.approx(5.0)
    assert promised_speed_m_s(1.0, 0.0, 9.0, 2.0) == 0.0


def test_worth_counts_the_way_aside_and_the_present_choice() -> None:
    """0.9 m aside at 0.15 a second; the bonus fades over one track."""
    assert worth_m_s(5.0, 0.9, 0.0, 0.45, 0.15, 0.1) == pytest.approx(5.0 - 0.135)
    assert worth_m_s(5.0, 0.9, 0.9, 0.45, 0.15, 0.1) == pytest.approx(5.0 - 0.135 + 0.1)


def test_ties_go_to_neither_side() -> None:
    """Left and right equally good: stay; else the better one."""
    assert best_track(np.array([5.0, 4.0, 5.0]), 1) == 0
    assert best_track(np.array([5.0, 4.0, 5.1]), 1) == 1
    assert best_track(np.array([5.2, 4.0, 5.1]), 1) == -1
    assert best_track(np.array([4.0, 4.0, 4.0]), 1) == 0
