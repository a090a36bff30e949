"""One day of the handbook: a dozen figures, and the scenario that they stand for.

Sideways everything is counted to the right: an offset above 0 puts the throat right of the middle of the line,
a turn above 0 goes right. A day seen in a mirror has both signs changed and is the same day.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.scenario import Scenario

STARTS = ("usual", "quick", "wild")

MARKS = ("throat", "turn", "1 km")
"""Where the loss is read: the end of the narrowing, just behind the first turn, and one kilometre."""

COURSE_M, LAST_MARK_M = 5000.0, 1000.0
"""The race is one of 5 km, with nothing but straight ground behind the turn; it is watched for its first."""

BEHIND_TURN_M = 10.0
FUNNEL_SHARE, FUNNEL_M = 0.3, (15.0, 60.0)
"""Of the straight, the last so-much is where the edges come in: held fixed, like all that is not sampled."""


@dataclass(frozen=True)
class SampledDay:
    """One race day in figures.

    width_m: of the line, all of it boxes. boxes, runners (in a box), abreast (side by side in its front row).
    straight_m: from the line to the end of the narrowing. throat_m: its width there. offset_m: how far right of
    the middle of the line the throat's middle is. turn_after_m: from the throat to the first turn.
    turn_deg: its angle, right above 0. turn_m: width of the course there. radius_m: of the inside; 0 is a post.
    mean_s, spread_s: 5 km times of the field. start: how it goes out, a word of STARTS.
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
        return (
            self.straight_m + self.turn_after_m + math.radians(abs(self.turn_deg)) * middle_m
        )

    @property
    def funnel_m(self) -> float:
        """Over how many metres do the edges come in?"""
        return min(max(FUNNEL_SHARE * self.straight_m, FUNNEL_M[0]), FUNNEL_M[1])


def scenario_of(day: SampledDay) -> Scenario:
    """The race day that these figures stand for, boxes drawn again and inputs drawn with the seed.

    Raises BadInput where such a day cannot be. Check: tests/unit/trials/test_handbook.py.
    """
    document = {
        "name": "A day of the handbook",
        "clock": {"limit": 900, "frame_s": 1.0},
        "start": {
            "width": round(day.width_m, 3),
            "boxes": day.boxes,
            "box_width": math.floor(1000 * day.width_m / day.boxes) / 1000,
            "front_row": day.abreast,
            "draw": "again",
        },
        "course": {"pieces": _pieces(day), "checkpoints": _checkpoints(day)},
        "field": {
            "ability": "normal",
            "time": round(day.mean_s, 2),
            "spread": round(day.spread_s, 2),
            "runners": day.runners,
            "racing": "on",
            "start": day.start,
            "fill": True,
        },
        "teams": [{"name": "Home", "ours": True}],
    }
    return with_inputs_as(Scenario.assembled(document, {}, "handbook.toml"), True)


def _pieces(day: SampledDay) -> list[dict[str, Any]]:
    """Straight, narrowing (first on one side, where the throat is off the middle), on, turn, on."""
    come_in_m = day.width_m - day.throat_m
    aside_m = min(2 * abs(day.offset_m), come_in_m)
    pieces: list[dict[str, Any]] = [
        {"piece": "straight", "length": day.straight_m - day.funnel_m, "width": day.width_m}
    ]
    both_m = day.funnel_m * (1 - aside_m / come_in_m)
    if day.funnel_m - both_m > 0.5:
        side = "left" if day.offset_m > 0 else "right"
        pieces.append(
            {
                "piece": "narrowing",
                "side": side,
                "length": day.funnel_m - both_m if both_m > 0.5 else day.funnel_m,
                "width": day.width_m - aside_m if both_m > 0.5 else day.throat_m,
            }
        )
    if both_m > 0.5:
        length_m = both_m if len(pieces) > 1 else day.funnel_m
        pieces.append({"piece": "narrowing", "length": length_m, "width": day.throat_m})
    way = "narrowing" if day.turn_m < day.throat_m else "straight"
    side = "right" if day.turn_deg > 0 else "left"
    pieces += [
        {"piece": way, "length": day.turn_after_m, "width": day.turn_m},
        {
            "piece": "turn",
            "side": side,
            "angle": abs(day.turn_deg),
            "inside_radius": day.radius_m,
            "width": day.turn_m,
        },
        {"piece": "straight", "length": COURSE_M - day.turn_ends_m},
    ]
    return [{key: _rounded(value) for key, value in piece.items()} for piece in pieces]


def _rounded(value: Any) -> Any:
    return round(value, 3) if isinstance(value, float) else value


def _checkpoints(day: SampledDay) -> list[dict[str, Any]]:
    at_m = (day.straight_m, day.turn_ends_m + BEHIND_TURN_M, LAST_MARK_M)
    return [
        {"name": name, "at": round(at, 2)} for name, at in zip(MARKS, at_m, strict=True)
    ]
