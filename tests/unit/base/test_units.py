"""How lengths, times and paces are said."""

from __future__ import annotations

import pytest

from simrun.base.units import (
    METRES_A_FOOT,
    METRES_A_MILE,
    METRES_A_YARD,
    METRES_AN_INCH,
    clock_text,
    length_text,
    pace_text,
)

pytestmark = pytest.mark.oracle


def test_the_yard_the_foot_the_inch_and_the_mile() -> None:
    """International yard and pound agreement of 1959: exact by definition."""
    assert METRES_A_YARD == 0.9144
    assert (METRES_A_FOOT, METRES_A_MILE) == (0.3048, 1609.344)
    assert round(METRES_A_MILE / METRES_A_YARD, 9) == 1760
    assert round(METRES_A_YARD / METRES_AN_INCH, 9) == 36


@pytest.mark.parametrize(
    ("metres", "metric", "us"),
    [
        (85.0, "85 m", "93 yd"),
        (2.136, "2.1 m", "7.0 ft"),
        (0.0, "0.0 m", "0.0 ft"),
        (-2.0, "-2.0 m", "-6.6 ft"),
        (6.0, "6.0 m", "19.7 ft"),
        (6.2, "6.2 m", "7 yd"),
        (19.99, "20.0 m", "22 yd"),
        (20.0, "20 m", "22 yd"),
        (1609.344, "1609 m", "1760 yd"),
    ],
)
def test_lengths(metres: float, metric: str, us: str) -> None:
    """Short ones to a decimetre or in feet, long ones whole."""
    assert length_text(metres, "metric") == metric
    assert length_text(metres, "us") == us


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (125.3, "2:05.3"),
        (0.0, "0:00.0"),
        (59.94, "0:59.9"),
        (59.96, "1:00.0"),
        (599.97, "10:00.0"),
        (3723.0, "62:03.0"),
        (float("nan"), "-"),
    ],
)
def test_times_never_show_sixty_seconds(seconds: float, said: str) -> None:
    """Rounded first, split into minutes afterwards; a dash for who is not there."""
    assert clock_text(seconds) == said


@pytest.mark.parametrize(
    ("speed", "metric", "us"),
    [
        (5.0, "3:20 /km", "5:22 /mile"),
        (4.1683, "4:00 /km", "6:26 /mile"),
        (16.667, "1:00 /km", "1:37 /mile"),
        (0.05, "standing", "standing"),
        (0.0, "standing", "standing"),
        (float("nan"), "standing", "standing"),
    ],
)
def test_paces(speed: float, metric: str, us: str) -> None:
    """Minutes a kilometre or a mile; whoever stands has none."""
    assert pace_text(speed, "metric") == metric
    assert pace_text(speed, "us") == us


def test_what_rounds_to_nothing_has_no_sign() -> None:
    """A place a hair before the line is 0.0 m ahead of it, never -0.0."""
    assert [
        length_text(-1e-9, "metric"),
        length_text(-0.04, "metric"),
        length_text(-0.06, "metric"),
    ] == [
        "0.0 m",
        "0.0 m",
        "-0.1 m",
    ]
    assert length_text(-1e-9, "us") == "0.0 ft"
