"""How many metres, how many seconds does what somebody wrote mean?"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from simrun.base.errors import nearest_word
from simrun.base.units import (
    METRES_A_CENTIMETRE,
    METRES_A_KILOMETRE,
    METRES_A_MILE,
    METRES_A_MILLIMETRE,
    METRES_A_YARD,
    METRES_AN_INCH,
)
from simrun.scenario.tables.values import RefusedError, plain_number, shown, within

LENGTH_WORDS = 'a number of metres, or text such as "60 m", "150 yd", "0.5 mi", "30 ft"'
TIME_WORDS = 'a number of seconds, or text such as "90 s", "12 min", "18:20", "1:05:00"'

LONGEST_TEXT = 40
FARTHEST_M = 1e6
LONGEST_S = 1e6

# Twelve inches to the foot: one bit less than METRES_A_FOOT. So feet were always read, and a race whose
# course is in feet keeps its bits.
METRES_PER = dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1.0)
METRES_PER |= dict.fromkeys(("km", "kilometre", "kilometres"), METRES_A_KILOMETRE)
METRES_PER |= dict.fromkeys(("kilometer", "kilometers"), METRES_A_KILOMETRE)
METRES_PER |= dict.fromkeys(("yd", "yds", "yard", "yards"), METRES_A_YARD)
METRES_PER |= dict.fromkeys(("ft", "foot", "feet"), 12 * METRES_AN_INCH)
METRES_PER |= dict.fromkeys(("in", "inch", "inches"), METRES_AN_INCH)
METRES_PER |= dict.fromkeys(("mi", "mile", "miles"), METRES_A_MILE)
METRES_PER |= {"cm": METRES_A_CENTIMETRE, "mm": METRES_A_MILLIMETRE}
SECONDS_PER = {"s": 1.0, "sec": 1.0, "second": 1.0, "seconds": 1.0}
SECONDS_PER |= {"min": 60.0, "minute": 60.0, "minutes": 60.0}
SECONDS_PER |= {"h": 3600.0, "hour": 3600.0, "hours": 3600.0}

NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)"
WITH_UNIT = re.compile(rf"({NUMBER})\s*([A-Za-z]+)", re.ASCII)
CLOCK = re.compile(r"(?:(\d{1,2}):)?(\d{1,3}):(\d{2}(?:\.\d+)?)", re.ASCII)


def length_m(value: object) -> float:
    """How many metres is a number of metres, or a text such as "150 yd"?

    Raises RefusedError for anything else, for NaN, infinity, and beyond 1000 km.
    """
    if not isinstance(value, str):
        return _sane(plain_number(value, LENGTH_WORDS), FARTHEST_M, value, LENGTH_WORDS)
    found = WITH_UNIT.fullmatch(value.strip()) if len(value) <= LONGEST_TEXT else None
    if found is None:
        raise RefusedError(shown(value), LENGTH_WORDS)
    number, unit = float(found[1]), found[2].lower()
    return _sane(number * _metres_in(unit, value), FARTHEST_M, value, LENGTH_WORDS)


def time_s(value: object) -> float:
    """How many seconds is a number of seconds, or a text such as "12 min" or "18:20"?

    Raises RefusedError for anything else, for NaN, infinity, and beyond eleven days.
    """
    if not isinstance(value, str):
        return _sane(plain_number(value, TIME_WORDS), LONGEST_S, value, TIME_WORDS)
    text = value.strip() if len(value) <= LONGEST_TEXT else ""
    if by_clock := CLOCK.fullmatch(text):
        return _clock_s(by_clock, value)
    found = WITH_UNIT.fullmatch(text)
    if found is None:
        raise RefusedError(shown(value), TIME_WORDS)
    if found[2].lower() not in SECONDS_PER:
        raise RefusedError(shown(value), TIME_WORDS, nearest_word(found[2].lower(), SECONDS_PER))
    seconds = float(found[1]) * SECONDS_PER[found[2].lower()]
    return _sane(seconds, LONGEST_S, value, TIME_WORDS)


def _sane(number: float, most: float, value: object, words: str) -> float:
    return within(number, -most, most, RefusedError(shown(value), words))


def _clock_s(found: re.Match[str], value: object) -> float:
    hours, minutes, seconds = found[1], int(found[2]), float(found[3])
    if seconds >= 60 or (hours is not None and (minutes >= 60 or len(found[2]) != 2)):
        raise RefusedError(shown(value), TIME_WORDS)
    return int(hours or 0) * 3600 + minutes * 60 + seconds


def _metres_in(unit: str, value: object) -> float:
    if unit not in METRES_PER:
        raise RefusedError(shown(value), LENGTH_WORDS, nearest_word(unit, METRES_PER))
    return METRES_PER[unit]


@dataclass(frozen=True)
class Length:
    """A length from low_m to high_m, both allowed, in metres."""

    low_m: float
    high_m: float

    def __call__(self, value: object) -> float:
        allowed = f"{self.low_m:g} to {self.high_m:g} m: {LENGTH_WORDS}"
        return _in_range(length_m, value, (self.low_m, self.high_m), allowed)


@dataclass(frozen=True)
class Time:
    """A time from low_s to high_s, both allowed, in seconds."""

    low_s: float
    high_s: float

    def __call__(self, value: object) -> float:
        allowed = f"{clock_words(self.low_s)} to {clock_words(self.high_s)}: {TIME_WORDS}"
        return _in_range(time_s, value, (self.low_s, self.high_s), allowed)


def _in_range(meaning: Any, value: object, span: tuple[float, float], allowed: str) -> float:
    try:
        number: float = meaning(value)
    except RefusedError as wrong:
        raise RefusedError(wrong.found, allowed, wrong.nearest) from None
    return within(number, *span, RefusedError(shown(value), allowed))


def clock_words(seconds: float) -> str:
    """A time as people write it: 45 s, 20 min, 2 h."""
    if seconds >= 3600 and seconds % 3600 == 0:
        return f"{seconds / 3600:g} h"
    return f"{seconds / 60:g} min" if seconds and seconds % 60 == 0 else f"{seconds:g} s"
