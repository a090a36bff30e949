"""Crowds round corners (checks, section C): the rows of the evidence page, with the quick page's effort."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from simrun.answers.evidence.check_kinds import Check
from simrun.answers.evidence.check_rows import SIDES_CAUSE
from simrun.answers.evidence.checks import RUNNERS, WALKERS, group
from simrun.answers.evidence.experiments.arena import Crowd
from simrun.answers.evidence.experiments.corner import (
    sharp_turn,
    told_difference_s,
    twenty_round_a_corner,
    walls_crossed,
)


@cache
def rows(name: str) -> tuple[Check, ...]:
    """The rows of one experiment of the page."""
    return group(name).judge(group(name).run(True))


@pytest.mark.slow
@pytest.mark.parametrize("row", range(4))
@pytest.mark.xfail(strict=True, reason=SIDES_CAUSE)
def test_the_inner_side_of_a_corner_is_slower(row: int) -> None:
    """Is the inner third of a dense group slower round 90 degrees, and more so at a higher wish? Runners,
    then walkers, ten seeds.

    Hannun et al. 2022, PLoS ONE e0264635; seen (sign only)
    """
    check = rows("corner sides")[row]
    assert check.met, check


@pytest.mark.parametrize("crowd", [WALKERS, RUNNERS], ids=lambda crowd: crowd.kind)
def test_twenty_people_get_round_a_corner_and_cross_no_wall(crowd: Crowd) -> None:
    """Do all of 20 people get round the corner of a 2 m corridor, no centre ever beyond a wall?

    IMO MSC.1/Circ.1533 annex 3 test 6; memory
    """
    found = twenty_round_a_corner(crowd)
    assert found.arrived == 20
    assert found.crossings == 0
    assert walls_crossed(found.place_m, found.corner_m, found.width_m) == 0


@pytest.mark.parametrize(
    ("path", "times"),
    [
        ([(0, 0), (11, 0), (13, 0.5), (12.5, 3)], 0),
        ([(0, 0), (11, 1.1), (13, 0.5)], 1),
        ([(0, 0), (11, 0), (11.5, 3)], 2),
        ([(0, 0), (13.9, -0.9)], 1),
        ([(0, -1.2)], 1),
        ([(13, 0.9), (14.1, 3)], 1),
    ],
)
def test_a_crossed_wall_is_seen(path: list[tuple[float, float]], times: int) -> None:
    """Walls cut, jumped and left behind by hand round a corner at (12, 1): is each place outside counted?

    computed
    """
    place = np.array(path, dtype=float)[:, None, :]
    assert walls_crossed(place, (12.0, 1.0), 2.0) == times


@pytest.mark.slow
def test_in_the_pack_the_outside_is_faster_when_all_others_hug_the_inside() -> None:
    """210 runners, a sharp turn 310 m after the gun, everybody else inside: paired by seed.

    common practice
    """
    (check,) = rows("inside or outside")
    assert check.met, check


@pytest.mark.slow
def test_in_a_small_field_the_inside_is_faster() -> None:
    """70 runners, half of the others inside: does the inside win, as its fewer metres say?

    common practice; the metres computed
    """
    differences = [told_difference_s(sharp_turn(10, 0.5), seed) for seed in range(1, 11)]
    mean = np.mean(differences)
    reach = 2.26 * np.std(differences, ddof=1) / np.sqrt(len(differences))
    assert mean + reach < 0, f"inside minus outside {mean:.2f} +/- {reach:.2f} s"


def test_the_same_people_run_both_ways_of_telling() -> None:
    """Does only the told teams' line differ between the two races of a pair?

    computed
    """
    first, second = (scenario.roster(3) for scenario in sharp_turn(10, 0.5))
    told = np.char.startswith(first.team, "Told")
    assert told.sum() == 28
    assert (first.cruise_m_s == second.cruise_m_s).all()
    assert (first.choice[~told] == second.choice[~told]).all()
    assert (first.choice[told, 1] != second.choice[told, 1]).all()
