"""The scenario that the figures of a day of the handbook stand for."""

from __future__ import annotations

import math
from typing import Any

from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.scenario import Scenario
from simrun.trials.handbook.sampled_day import BEHIND_TURN_M, LAST_MARK_M, MARKS, SampledDay

COURSE_M = 5000.0
"""The race is one of 5 km, with straight ground behind the turn; its first kilometre is watched."""


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
    return [{"name": name, "at": round(at, 2)} for name, at in zip(MARKS, at_m, strict=True)]
