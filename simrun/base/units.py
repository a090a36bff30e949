"""How are lengths, times and paces said to a coach? In the units the scenario chose.

Source: the yard is 0.9144 m exactly (international yard and pound agreement, 1959); a foot is a third of
it, an inch a thirty-sixth, a mile 1760 of it. Check: tests/unit/base/test_units.py.
"""

from __future__ import annotations

import math

METRES_A_YARD = 0.9144
METRES_A_FOOT = 0.3048
METRES_AN_INCH = 0.0254
METRES_A_MILE = 1609.344
METRES_A_KILOMETRE = 1000.0
METRES_A_CENTIMETRE = 0.01
METRES_A_MILLIMETRE = 0.001


def length_text(metres: float, units: str) -> str:
    """A length: "85 m" or, for US readers, "93 yd"; short ones in feet."""
    if units == "us":
        if abs(metres) < 20 * METRES_A_FOOT:
            return f"{_plain(metres / METRES_A_FOOT, 1)} ft"
        return f"{_plain(metres / METRES_A_YARD, 0)} yd"
    return f"{_plain(metres, 1 if abs(metres) < 20 else 0)} m"


def _plain(value: float, digits: int) -> str:
    """So many decimals; what rounds to nothing has no sign."""
    return f"{round(value, digits) + 0.0:.{digits}f}"


def short_unit(units: str) -> tuple[str, float]:
    """In what is a way of a few steps said? The unit's name, and how many metres it has."""
    return ("ft", METRES_A_FOOT) if units == "us" else ("m", 1.0)


def more_text(metres: float, units: str) -> str:
    """So much further or less far, with its sign and to a tenth: "+14.9 m", "-2.4 ft"; a dash for nan."""
    unit, metres_each = short_unit(units)
    return "-" if math.isnan(metres) else f"{round(metres / metres_each, 1) + 0.0:+.1f} {unit}"


def clock_text(seconds: float) -> str:
    """A race time to the tenth: "2:05.3"; a dash for who did not arrive."""
    if math.isnan(seconds):
        return "-"
    tenths = round(seconds * 10)
    return f"{tenths // 600}:{tenths // 10 % 60:02d}.{tenths % 10}"


def pace_text(speed_m_s: float, units: str) -> str:
    """A pace: "3:20 /km" or "5:22 /mile"; athletes never see metres per second."""
    if not speed_m_s > 0.05:
        return "standing"
    metres, word = (METRES_A_MILE, "mile") if units == "us" else (1000.0, "km")
    seconds = round(metres / speed_m_s)
    return f"{seconds // 60}:{seconds % 60:02d} /{word}"
