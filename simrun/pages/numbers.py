"""How is a number said? Seconds to a tenth, places as whole numbers, a range, or nothing to be seen."""

from __future__ import annotations

import math
import re

from simrun.trials.statistics import Estimate

NOTHING_SEEN = "no difference that we can see"
DASH = "-"
LAP = re.compile(r"lap \d+")
"""A mark that is called after a lap stands where the lap is done."""

AGAIN = re.compile(r"(.+), (lap \d+)")
"""A mark that is passed more than once."""


def tenths(seconds: float, sign: str = "") -> str:
    """Seconds to one decimal, with a sign where asked for; nothing lost is 0.0, a dash for nan."""
    return DASH if math.isnan(seconds) else f"{round(seconds, 1) + 0.0:{sign}.1f}"


def whole(value: float) -> str:
    """A whole number, such as places; a dash for nan."""
    return DASH if math.isnan(value) else f"{round(value) + 0:d}"


def ordinal(value: float) -> str:
    """A place said as a place, "1st", "22nd"; a dash for nan."""
    if math.isnan(value):
        return DASH
    number = round(value)
    teens = 10 < number % 100 < 14
    return f"{number}{'th' if teens else {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th')}"


def whole_clock(seconds: float) -> str:
    """A time as a watch is read at a mark, "3:52"; a dash for nan."""
    if math.isnan(seconds):
        return DASH
    number = round(seconds)
    return f"{number // 60}:{number % 60:02d}"


def percent(share: float) -> str:
    """A share of one as per cent; a dash for nan."""
    return DASH if math.isnan(share) else f"{100 * share:.0f} %"


def ends(low: float, high: float) -> str:
    """A range of seconds, "1.2 to 3.4"; endless, or of nobody, is a dash."""
    return (
        f"{tenths(low)} to {tenths(high)}" if math.isfinite(low) and math.isfinite(high) else DASH
    )


def whole_ends(low: float, high: float) -> str:
    """A range of whole numbers, "12 to 31"; endless, or of nobody, is a dash."""
    return f"{whole(low)} to {whole(high)}" if math.isfinite(low) and math.isfinite(high) else DASH


def mean_and_ends(found: Estimate) -> str:
    """A mean with its interval, "2.3 (1.2 to 3.4)"; the mean alone where the interval is endless."""
    known = math.isfinite(found.low) and math.isfinite(found.high)
    return tenths(found.mean) + (f" ({ends(found.low, found.high)})" if known else "")


def difference(found: Estimate, unit: str = "s", more: str = "more", less: str = "less") -> str:
    """A difference as a sentence's end: "between 1.2 and 3.4 s more", or that none is to be seen.

    Bounds are to one decimal; a whole interval that rounds to nothing is no difference to a reader.
    """
    if not found.is_seen or round(max(abs(found.low), abs(found.high)), 1) == 0:
        return NOTHING_SEEN
    ends = sorted((abs(found.low), abs(found.high)))
    return f"between {ends[0]:.1f} and {ends[1]:.1f} {unit} {more if found.low > 0 else less}"


def the_mark(name: str) -> str:
    """A mark inside a sentence: "the finish", "the end of lap 1", "the beehives on lap 2"; a name stays."""
    if LAP.fullmatch(name):
        return f"the end of {name}"
    if again := AGAIN.fullmatch(name):
        return f"{the_mark(again[1])} on {again[2]}"
    is_name = name[:1].isupper() or any(sign.isdigit() for sign in name)
    return name if is_name or name.startswith(("the ", "a ", "an ")) else f"the {name}"
