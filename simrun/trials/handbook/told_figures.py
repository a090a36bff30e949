"""What somebody knows of a line and its course, and the days that it may be.

What is not told is carried along: it is drawn from the sample's own ranges, a fixed few dozen times,
every draw with its mirror image, so that nothing leans to a side of which nothing is known.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields

from simrun.base.errors import BadInput, Problem
from simrun.trials.handbook.estimate_model import EstimateModel
from simrun.trials.handbook.sampled_day import (
    BEHIND_TURN_M,
    BODY_M,
    LAST_TURN_M,
    MOST_ABREAST,
    MOST_FIELD,
    MOST_THROAT,
    POSTS,
    RANGES,
    STARTS,
    SampledDay,
    between,
    most_spread_s,
)

UNTOLD = (
    "abreast",
    "offset_m",
    "turn_after_m",
    "turn_deg",
    "turn_m",
    "radius_m",
    "mean_s",
    "spread_s",
    "start",
)
"""What need not be told."""


@dataclass(frozen=True)
class ToldFigures:
    """A line and its course as far as somebody knows them; figures as of a SampledDay, None: not known.

    right: does the first turn go right? None: not known. turn_deg is without sign here.
    """

    width_m: float
    boxes: int
    runners: int
    straight_m: float
    throat_m: float
    abreast: int | None = None
    offset_m: float | None = None
    turn_after_m: float | None = None
    right: bool | None = None
    turn_deg: float | None = None
    turn_m: float | None = None
    radius_m: float | None = None
    mean_s: float | None = None
    spread_s: float | None = None
    start: str | None = None

    def __post_init__(self) -> None:
        """Raises BadInput where there is no such line."""
        wrong = [
            Problem(name, f"{value:g}", "a number above 0")
            for name in ("width_m", "boxes", "runners", "straight_m", "throat_m")
            if not (value := getattr(self, name)) > 0
        ]
        if not wrong and self.throat_m >= self.width_m:
            allowed = f"narrower than the line, {self.width_m:g} m"
            wrong.append(Problem("throat", f"{self.throat_m:g} m", allowed))
        if not wrong and self.width_m / self.boxes < BODY_M:
            found = f"{self.boxes} boxes on {self.width_m:g} m"
            wrong.append(Problem("boxes", found, f"boxes of {BODY_M:g} m or wider"))
        most = abs(self.width_m - self.throat_m) / 2
        if not wrong and self.offset_m is not None and abs(self.offset_m) > most:
            wrong.append(Problem("offset", f"{self.offset_m:g} m", f"-{most:g} to {most:g} m"))
        if wrong:
            raise BadInput(*wrong)

    @property
    def unknown(self) -> tuple[str, ...]:
        """Which figures were not told?"""
        names = [field.name for field in fields(self)]
        return tuple(name for name in names if getattr(self, name) is None)

    @property
    def outside(self) -> tuple[tuple[str, float, float, float], ...]:
        """Which figures lie outside of what was sampled? (name, value, from, to) each."""
        turn_share = None if self.turn_m is None else self.turn_m / self.throat_m
        known = {name: getattr(self, name, None) for name in RANGES}
        known |= {"box_m": self.width_m / self.boxes, "turn_share": turn_share}
        known["radius_m"] = None if self.radius_m == 0 else self.radius_m
        found = [
            (name, value, *RANGES[name])
            for name, value in known.items()
            if value is not None and not RANGES[name][0] <= value <= RANGES[name][1]
        ]
        field = self.boxes * self.runners
        if field > MOST_FIELD:
            found.append(("field", field, 0, MOST_FIELD))
        if self.mean_s is not None and self.spread_s is not None:
            low, high = RANGES["spread_s"][0], most_spread_s(self.mean_s)
            if high < self.spread_s <= RANGES["spread_s"][1]:
                found.append(("spread_s", self.spread_s, low, high))
        share = self.throat_m / self.width_m
        if share > MOST_THROAT:
            found.append(("throat_share", share, 0, MOST_THROAT))
        return tuple(found)

    def days(self, points: Sequence[dict[str, float]]) -> list[SampledDay]:
        """The days that it may be: two a point, the second with unknown sides seen in a mirror."""
        return [self._day(point, mirror) for point in points for mirror in (False, True)]

    def _day(self, unit: dict[str, float], mirror: bool) -> SampledDay:
        """The day with what is unknown taken at this point of the unit cube."""
        room = max(
            1, min(MOST_ABREAST, math.floor(self.width_m / self.boxes / BODY_M), self.runners)
        )
        side = -1.0 if mirror else 1.0
        offset = side * (2 * unit["offset"] - 1) * (self.width_m - self.throat_m) / 2
        right = (unit["turns_right"] >= 0.5) != mirror if self.right is None else self.right
        degrees = _or(self.turn_deg, between("turn_deg", unit["turn_deg"]))
        turn_m = _or(self.turn_m, self.throat_m * between("turn_share", unit["turn_share"]))
        radius = 0.0 if unit["post"] < POSTS else between("radius_m", unit["radius_m"])
        radius = _or(self.radius_m, radius)
        bend = math.radians(degrees) * (radius + turn_m / 2)
        left_m = LAST_TURN_M - BEHIND_TURN_M - self.straight_m - bend
        behind = between("turn_after_m", unit["turn_after_m"])
        behind = max(RANGES["turn_after_m"][0], min(behind, left_m))
        mean_s = _or(self.mean_s, between("mean_s", unit["mean_s"]))
        spread_s = min(between("spread_s", unit["spread_s"]), most_spread_s(mean_s))
        start = STARTS[min(2, int(3 * unit["start"]))]
        abreast = 1 + min(room - 1, int(unit["abreast"] * room))
        return SampledDay(
            width_m=self.width_m,
            boxes=self.boxes,
            runners=self.runners,
            abreast=abreast if self.abreast is None else self.abreast,
            straight_m=self.straight_m,
            throat_m=self.throat_m,
            offset_m=_or(self.offset_m, offset),
            turn_after_m=_or(self.turn_after_m, behind),
            turn_deg=degrees if right else -degrees,
            turn_m=turn_m,
            radius_m=radius,
            mean_s=mean_s,
            spread_s=_or(self.spread_s, spread_s),
            start=self.start or start,
        )


def days_of_told(model: EstimateModel, told: ToldFigures) -> list[SampledDay]:
    """The days that it may be, by the model's own points."""
    return told.days(model.content["points"])


def _or(told: float | None, drawn: float) -> float:
    return drawn if told is None else told
