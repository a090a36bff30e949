"""One day of the handbook: a dozen figures.

Sideways everything is counted to the right: an offset above 0 puts the throat right of the middle of the
line, a turn above 0 goes right. A day seen in a mirror has both signs changed and is the same day.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

STARTS = ("usual", "quick", "wild")

MARKS = ("throat", "turn", "1 km")
"""Where the loss is read: the end of the narrowing, 10 to 40 m behind the first turn, and one kilometre.

Marks lie along the measured line, which cuts corners: at most 2 m before the narrowing's end."""

LAST_MARK_M = 1000.0

BEHIND_TURN_M = 10.0
FUNNEL_SHARE, FUNNEL_M = 0.3, (15.0, 60.0)
"""Of the straight, the last so-much is where the edges come in: held fixed, like all that is not sampled."""


@dataclass(frozen=True)
class SampledDay:
    """One race day in figures.

    width_m: of the line, all of it boxes. boxes, runners (in a box), abreast (side by side in its front row).
    straight_m: from the line to the end of the narrowing. throat_m: its width there. offset_m: how far right
    of the middle of the line the throat's middle is. turn_after_m: from the throat to the first turn.
    turn_deg: its angle, right above 0. turn_m: width of the course there. radius_m: of the inside; 0 is a
    post. mean_s, spread_s: 5 km times of the field. start: how it goes out, a word of STARTS.
    """

    width_m: float
    boxes: int
    runners: int
    abreast: int
    straight_m: float
    throat_m: float
    offset_m: float
    turn_after_m: float
    turn_deg: float
    turn_m: float
    radius_m: float
    mean_s: float
    spread_s: float
    start: str

    @property
    def mirrored(self) -> SampledDay:
        """The same day seen in a mirror."""
        return replace(self, offset_m=-self.offset_m, turn_deg=-self.turn_deg)

    @property
    def turn_ends_m(self) -> float:
        """How far along the middle of the course does the turn end?"""
        middle_m = self.radius_m + self.turn_m / 2
        return self.straight_m + self.turn_after_m + math.radians(abs(self.turn_deg)) * middle_m

    @property
    def funnel_m(self) -> float:
        """Over how many metres do the edges come in?"""
        return min(max(FUNNEL_SHARE * self.straight_m, FUNNEL_M[0]), FUNNEL_M[1])


RANGES: dict[str, tuple[float, float]] = {
    "width_m": (20.0, 120.0),
    "box_m": (1.4, 4.0),
    "runners": (3.0, 9.0),
    "straight_m": (60.0, 700.0),
    "throat_m": (3.0, 25.0),
    "turn_after_m": (15.0, 300.0),
    "turn_deg": (30.0, 150.0),
    "turn_share": (0.6, 1.4),
    "radius_m": (2.0, 20.0),
    "mean_s": (960.0, 1440.0),
    "spread_s": (20.0, 160.0),
}
"""What is sampled, from and to; lengths evenly by their logarithm. turn_share: of the throat's width."""

PLAIN_SPREAD_S, FASTEST_S, FAST_SHARE = 90.0, 900.0, 2.5
"""So far apart may any field's times lie; further only where so many standard deviations before the mean
nobody is faster than this (assumed)."""

AXES = (*RANGES, "abreast", "offset", "turns_right", "post", "start")
POSTS = 1 / 3
"""So many of the turns are round a post."""

EVENLY = ("turn_deg", "turn_share", "mean_s", "spread_s", "runners")
BODY_M = 0.62
"""Least room abreast for one runner on the line."""
MOST_ABREAST, MOST_ROWS, MOST_FIELD = 4, 5, 260
MOST_THROAT = 0.8
"""A throat no wider than this share of the line: else there is none."""
LAST_TURN_M = LAST_MARK_M - 60.0


def most_spread_s(mean_s: float) -> float:
    """How far apart may the times of a field of this mean lie? In a wide one, not many before FASTEST_S."""
    return max(PLAIN_SPREAD_S, (mean_s - FASTEST_S) / FAST_SHARE)


def can_be(day: SampledDay) -> bool:
    """Is there such a day? A narrow throat, not too many rows, the turn before the last mark."""
    return (
        day.throat_m <= MOST_THROAT * day.width_m
        and day.boxes >= 4
        and -(-day.runners // day.abreast) <= MOST_ROWS
        and day.boxes * day.runners <= MOST_FIELD
        and day.turn_ends_m + BEHIND_TURN_M <= LAST_TURN_M
    )


def between(name: str, unit: float) -> float:
    """The value of this figure so far through its range, by logarithm where lengths are."""
    low, high = RANGES[name]
    if name in EVENLY:
        return low + unit * (high - low)
    return low * (high / low) ** unit
