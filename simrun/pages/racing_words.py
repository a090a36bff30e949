"""What a race for places means on any page: how an opening is read there."""

from __future__ import annotations

from simrun.scenario.day import Day

OPENING_IS_A_SPLIT = (
    "Racing is on: an opening is a split, the seconds from the gun to its mark with the standing start "
    "included, against race pace on this ground. With racing off the same number is a share of the pace "
    "that is run."
)


def racing_words(day: Day) -> str:
    """One line where everybody races for places; empty where nobody does."""
    return OPENING_IS_A_SPLIT if day.field.racing == "on" else ""
