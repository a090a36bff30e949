"""How many seconds is a 5 km seed time as people write it?"""

from __future__ import annotations

import re

FASTEST_S = 600.0
SLOWEST_S = 3600.0
"""Nobody runs 5 km in less than 10 minutes; who needs more than an hour is a slip of the pen."""

ALLOWED_TIME = "a 5 km time of 10 to 60 minutes, such as 18:20.5, 0:18:20 or 1100 (seconds)"

_CLOCK = re.compile(r"(?:([0-9]{1,2}):)?([0-9]{1,2}):([0-5][0-9](?:[.,][0-9]{1,3})?)")
_SECONDS = re.compile(r"[0-9]{1,6}(?:[.,][0-9]{1,3})?")


def seed_time_s(text: str) -> float:
    """The seconds of "18:20.5", "0:18:20" or "1100". Raises ValueError on anything else."""
    time_s = _clock_s(text) if ":" in text else _plain_s(text)
    if not FASTEST_S <= time_s <= SLOWEST_S:
        raise ValueError(ALLOWED_TIME)
    return time_s


def _clock_s(text: str) -> float:
    match = _CLOCK.fullmatch(text)
    if match is None or (match[1] and int(match[2]) > 59):
        raise ValueError(ALLOWED_TIME)
    return 3600.0 * int(match[1] or 0) + 60.0 * int(match[2]) + float(match[3].replace(",", "."))


def _plain_s(text: str) -> float:
    if _SECONDS.fullmatch(text) is None:
        raise ValueError(ALLOWED_TIME)
    return float(text.replace(",", "."))
