"""How many seconds is a 5 km seed time as people and spreadsheets write it?

A spreadsheet makes 16:22 to "16:22:00", "4:22:00 PM", "4:22 PM" or 0.68194444, and 0:16:22 to "12:16:22 AM"
or 0.01136574. Of all readings only one lies between 10 and 60 minutes, and that one is meant. Four
digits alone,
such as 1620, are 16:20 to a coach and 27:00 to a spreadsheet of seconds: the whole column decides, or is
asked.
Check: tests/unit/runners/test_lists_as_people_have_them.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Literal

FASTEST_S = 600.0
SLOWEST_S = 3600.0
"""Nobody runs 5 km in less than 10 minutes; who needs more than an hour is a slip of the pen."""

ALLOWED_TIME = "a 5 km time of 10 to 60 minutes, such as 18:20.5, 0:18:20 or 1100 (seconds)"

PlainTimes = Literal["minutes", "seconds"]
"""What digits alone mean: 1620 is 16:20, or 1620 seconds."""

FASTEST_PLAIN_S = 750.0
"""Digits that would be less than 12:30 are seconds: nobody has run 5 km on a track in less than 12:35
(the world
record of 2020, from memory)."""

_DAY_S = 86400.0
_PLAIN_MINUTES = re.compile(r"([0-9]{2})([0-5][0-9])([.,][0-9]{1,3})?")
_CLOCK = re.compile(r"(?:([0-9]{1,2}):)?([0-9]{1,2}):([0-5][0-9](?:[.,][0-9]{1,3})?)")
_HALF_DAY = re.compile(r"([0-9:.,]+) ?([AP])M", re.IGNORECASE)
_MARKS = re.compile(
    r"([0-9]{1,2})['\u2019\u2032]([0-5][0-9](?:[.,][0-9]{1,3})?)(?:''|[\"\u201d\u2033])?"
)
_SECONDS = re.compile(r"[0-9]{1,6}(?:[.,][0-9]{1,3})?")
_OF_A_DAY = re.compile(r"0[.,][0-9]{6,20}")
_POINTS = re.compile(
    r"([1-5]?[0-9])[.]([0-5][0-9])(?:[.,]([0-9]))?|([1-5]?[0-9]):([0-5][0-9]):([0-9]{1,2})"
)


def seed_time_s(text: str, plain: PlainTimes = "seconds") -> float:
    """The seconds of "18:20.5", "0:18:20", "18:20:00" or "1100". Raises ValueError on anything else."""
    if plain == "minutes" and _SECONDS.fullmatch(text):
        return _plain_minutes_s(text)
    read = [time_s for time_s in _readings_s(text) if FASTEST_S <= time_s <= SLOWEST_S]
    if len(read) != 1:
        raise ValueError(ALLOWED_TIME)
    return read[0]


def plain_times(cells: Iterable[str]) -> tuple[list[PlainTimes], str]:
    """What may the digits alone of a column mean, all of them alike? And the first that leaves it open,
    or ""."""
    plain = [cell for cell in cells if _SECONDS.fullmatch(cell)]
    either = [cell for cell in plain if _fits(cell, "minutes") and _fits(cell, "seconds")]
    meanings: tuple[PlainTimes, ...] = ("minutes", "seconds")
    fit = [meaning for meaning in meanings if all(_fits(cell, meaning) for cell in plain)]
    return fit, either[0] if either else ""


def _fits(text: str, plain: PlainTimes) -> bool:
    try:
        return seed_time_s(text, plain) >= (FASTEST_PLAIN_S if plain == "minutes" else FASTEST_S)
    except ValueError:
        return False


def _plain_minutes_s(text: str) -> float:
    found = _PLAIN_MINUTES.fullmatch(text)
    time_s = 60.0 * int(found[1]) + _number(found[2] + (found[3] or "")) if found else 0.0
    if not FASTEST_S <= time_s <= SLOWEST_S:
        raise ValueError(ALLOWED_TIME)
    return time_s


def nearest_time(text: str) -> str:
    """What was probably meant by "18.20" or "18:20:5": a time to be confirmed, empty where none is near."""
    found = _POINTS.fullmatch(text)
    if found is None:
        return ""
    minutes, seconds, rest = found.groups()[:3] if found[1] else found.groups()[3:]
    meant = f"{minutes}:{seconds}" + (f".{rest}" if rest else "")
    return meant if FASTEST_S <= next(_readings_s(meant)) <= SLOWEST_S else ""


def _readings_s(text: str) -> Iterator[float]:
    """Everything that this may mean, in seconds."""
    half = _HALF_DAY.fullmatch(text)
    found = _CLOCK.fullmatch(half[1] if half else text)
    if found:
        yield from _clock_s(found, half[2].upper() if half else "")
    elif marks := _MARKS.fullmatch(text):
        yield 60.0 * int(marks[1]) + _number(marks[2])
    elif _SECONDS.fullmatch(text):
        yield _number(text)
    elif _OF_A_DAY.fullmatch(text):
        yield round(_number(text) * _DAY_S, 1)
        yield round(_number(text) * _DAY_S / 60.0, 1)


def _clock_s(found: re.Match[str], half: str) -> Iterator[float]:
    """Hours, minutes and seconds; and minutes and seconds that a spreadsheet took for hours and minutes."""
    whole = found[1], found[2], found[3]
    if half and found[1] is None:
        whole = found[2], found[3], "0"
    if whole[0] is None:
        yield 60.0 * int(found[2]) + _number(found[3])
        return
    minutes, seconds = _number(whole[1]), _number(whole[2])
    hours = int(whole[0]) % 12 + 12 * (half == "P") if half else int(whole[0])
    if minutes > 59:
        return
    yield 3600.0 * hours + 60.0 * minutes + seconds
    if seconds == 0:
        yield 60.0 * hours + minutes


def _number(text: str) -> float:
    return float(text.replace(",", "."))
