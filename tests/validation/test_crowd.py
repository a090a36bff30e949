"""The crowd against published figures (checks, sections C and F): every row of simrun.study.checks.

The rows carry their sources. A row the model misses stands below as a strict expected failure: when a
better law meets it, the test says so.
"""

from __future__ import annotations

from functools import cache

import pytest

from simrun.study.checks import GROUPS, Check, group

TIME_GAP = "side-by-side runners are followed with the full time gap: one file a metre"
STRIDE = "a standing body needs 0.8 m before every restart; at this density nobody has it"
ONE_GAP = "one time gap of 0.7 s cannot meet both the corridor curve and the bottleneck"
CUTTING_IN = "bodies cut in at the corner and the outer files wait for the inner ones"

MISSES = {
    "flow of runners at saturation, for every metre of width": TIME_GAP,
    "flow of runners at the end of a funnel to 6 m, a metre of width": TIME_GAP,
    "speed of walkers in a wide corridor at 3 persons/m2": STRIDE,
    "speed of walkers in a wide corridor at 4 persons/m2": STRIDE,
    **{
        f"flow of walkers through {width} m, a metre of width": ONE_GAP
        for width in ("0.8", "1.2", "1.6", "2", "2.4")
    },
    **{
        f"dense {kind}: inner side slower at 3 m/s than at 1.5 m/s, by more": CUTTING_IN
        for kind in ("runners", "walkers")
    },
    "dense runners round a corner, wish 3 m/s: inner side slower by": CUTTING_IN,
    "dense walkers round a corner, wish 3 m/s: inner side slower by": CUTTING_IN,
}


@cache
def rows(name: str) -> tuple[Check, ...]:
    """The rows of one experiment, run once."""
    return group(name).judge(group(name).run(True))


def _about(group_name: str, row_name: str) -> bool:
    """May this experiment hold this row? So that one miss does not run every experiment."""
    about = {"corridor": "corridor", "saturation": "corridor", "funnel": "throat"}
    about |= {"walkers through": "bottleneck", "dense": "corner sides"}
    return any(word in row_name and place in group_name for word, place in about.items())


def expected(row: Check) -> bool:
    return row.name not in MISSES


@pytest.mark.parametrize("name", [each.name for each in GROUPS])
def test_published_figures_are_met(name: str) -> None:
    """Every row of this experiment that is not a known miss lies in its band."""
    missed = [str(row) for row in rows(name) if expected(row) and not row.met]
    assert missed == []


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=pytest.mark.xfail(strict=True, reason=MISSES[name]))
        for name in MISSES
    ],
)
def test_known_misses(name: str) -> None:
    """A published figure that the model does not meet, with the reason."""
    groups = [each.name for each in GROUPS if _about(each.name, name)]
    found = [row for each in groups for row in rows(each) if row.name == name]
    if len(found) != 1:
        pytest.exit(f"{name!r} is no row any more: take it off the list of misses")
    assert found[0].met, str(found[0])
