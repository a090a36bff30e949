"""How crowds flow (checks, section C): the rows of the evidence page, with the quick page's effort."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from simrun.answers.evidence.check_kinds import Check
from simrun.answers.evidence.check_rows import DENSE_CAUSE, PEAK_CAUSE, ROW_GAPS_M
from simrun.answers.evidence.checks import RUNNERS, WALKERS, group
from simrun.answers.evidence.experiments.flow import closed_corridor, start_wave


@cache
def rows(name: str) -> tuple[Check, ...]:
    """The rows of one experiment of the page."""
    return group(name).judge(group(name).run(True))


def missed(reason: str, *values: object) -> object:
    """A published value that the model misses, for the reason given."""
    return pytest.param(*values, marks=pytest.mark.xfail(strict=True, reason=reason))


@pytest.mark.slow
@pytest.mark.parametrize("row", range(5))
def test_walkers_in_a_wide_corridor(row: int) -> None:
    """How fast are walkers at 0.5, 1, 2, 3 and 4 a square metre?

    Weidmann 1993, Transporttechnik der Fussgaenger, Kladek form, 20 % either side; memory
    """
    check = rows("walkers in a corridor")[row]
    assert check.met, check


@pytest.mark.slow
@pytest.mark.parametrize("row", [0, 1, 2, missed(DENSE_CAUSE, 3), 4])
def test_runners_in_a_corridor(row: int) -> None:
    """What is the flow of runners in a closed corridor at 1.5, 2.0, 2.5 and 3.0 per m2, where it was
    measured? And at 1 per m2, is it below what any source has found?

    Peckover, Raineri and Scanlan 2022, Sports 10:132, 1.70 to 2.53 at 1.48 to 3.01 per m2 (every source: 1.2
    to 2.65); seen
    """
    check = rows("runners in a corridor")[row]
    assert check.met, check


@pytest.mark.slow
def test_flow_rises_and_falls_with_density() -> None:
    """Has the flow one peak between the free and the jammed crowd?

    Weidmann 1993 and every other source of speed against density; memory
    """
    flow = closed_corridor(RUNNERS, (0.25, 0.75, 2.5), settle_s=10.0, measured_s=8.0).flow_per_s_m
    assert flow[1] > max(flow[0], flow[2])


@pytest.mark.parametrize("row", range(4))
def test_runners_at_the_end_of_a_funnel(row: int) -> None:
    """How many runners get through a throat of 2, 4, 6 and 8 m, for every metre?

    Peckover, Raineri and Scanlan 2022, Sports 10:132, 1.70 to 2.53; seen
    """
    check = rows("runners at a throat")[row]
    assert check.met, check


@pytest.mark.parametrize("row", [missed(PEAK_CAUSE, 0), 1, 2, 3, 4])
def test_walkers_through_a_bottleneck(row: int) -> None:
    """How many walkers get through openings of 0.8, 1.2, 1.6, 2.0 and 2.4 m, for every metre?

    Seyfried et al. 2009, Transp. Sci. 43:395, 1.3 to 2.3; memory
    """
    check = rows("walkers at a bottleneck")[row]
    assert check.met, check


def test_the_flow_of_walkers_is_linear_in_the_width() -> None:
    """Does a straight line describe the flow against the width?

    Seyfried et al. 2009, Transp. Sci. 43:395; linearity seen, R2 of 0.95 is our reading of it
    """
    check = rows("walkers at a bottleneck")[-1]
    assert check.met, check


@pytest.mark.parametrize("row", range(2 * len(ROW_GAPS_M)))
def test_the_start_wave(row: int) -> None:
    """How fast does setting off run back through rows 0.7, 0.85, 1 and 1.2 m apart, runners and walkers?

    about 1 to 1.5 m/s; common practice
    """
    check = rows("start wave")[row]
    assert check.met, check


def test_the_start_wave_runs_from_the_front_to_the_back() -> None:
    """Does every row set off after the row before it, when they stand 1 m apart?

    common practice
    """
    wave = start_wave(WALKERS)
    by_row = wave.set_off_s.reshape(-1, 4).mean(axis=1)
    assert (np.diff(by_row) > 0).all()


def test_single_file_keeps_the_gap_of_the_law() -> None:
    """Behind a leader at 2, 3 and 4 m/s, is the free gap s0 + T v within 1 %?

    Treiber, Hennecke and Helbing 2000, Phys. Rev. E 62:1805, without the free-road term; computed
    """
    (check,) = rows("single file")
    assert check.met, check
