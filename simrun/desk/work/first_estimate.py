"""What does the handbook's model say of this line at once? An estimate, until it has been raced."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from simrun.answers.estimate.words import seconds_words
from simrun.base.errors import BadInput
from simrun.course.start import bow_m, in_line_m
from simrun.course.strip import Gate, Strip
from simrun.scenario.scenario import Scenario
from simrun.trials.handbook.estimate_model import estimate_model
from simrun.trials.handbook.told_figures import ToldFigures, days_of_told

LEAST_TIMES = 10
"""A field of which fewer times are known is one of which nothing is known."""

LEAST_BETWEEN_M = 1.0
"""A turn that begins in the narrowing begins so far behind it: outside of what was sampled, and told so."""

STRAIGHT_WITHIN_M = 0.3
"""A line that bows by less is as good as straight; arcs were not sampled."""


def first_estimate(day: Scenario) -> dict[str, Any] | None:
    """Spread between the boxes and what ours costs at the first narrowing; None where the model has no word.

    spread_s: one standard deviation of the boxes' costs. ours: in words, with the range that holds nine of
    ten such lines. outside: whether the line is outside of what was sampled. bowed, waves, women, closed:
    what the handbook's days are not, so that it is said beside the figure.
    Check: tests/unit/desk/test_first_estimate.py.
    """
    told = figures_of_day(day)
    if told is None:
        return None
    model = estimate_model()
    costs = model.costs(days_of_told(model, told))
    seconds, half = costs.values["cost_s"][:, 0], costs.half["cost_s"][:, 0]
    ours = next((team.box for team in day.teams if team.ours), None)
    worst = int(np.argmax(seconds))
    return {
        "spread_s": round(float(seconds.std()), 1),
        "worst": worst + 1,
        "worst_said": seconds_words(float(seconds[worst]), float(half[worst])),
        "ours": ours,
        "ours_said": seconds_words(float(seconds[ours - 1]), float(half[ours - 1])) if ours else "",
        "outside": bool(told.outside),
        "bowed": bow_m(day.start_line.spec) > STRAIGHT_WITHIN_M,
        "waves": day.start.waves > 1,
        "women": day.field.body != "men",
        "closed": bool(day.start.empty),
    }


def figures_of_day(day: Scenario) -> ToldFigures | None:
    """The figures of the line and its course; None without a narrowing ahead, narrower than it."""
    strip, start = day.strip, day.start
    throat = next((gate for gate in strip.gates if gate.kind == "throat"), None)
    turn = next((gate for gate in strip.gates if gate.kind == "turn"), None)
    if throat is None or (turn is not None and turn.first_cut < throat.first_cut):
        return None
    straight_m = float(strip.station_m[throat.last_cut])
    mean_s, spread_s = field_times(day)
    try:
        return ToldFigures(
            width_m=start.boxes * start.box_width_m,
            boxes=start.boxes,
            runners=day.field.runners,
            straight_m=straight_m,
            throat_m=float(strip.width_m[throat.last_cut]),
            abreast=start.front_row,
            offset_m=_offset(day, throat),
            mean_s=mean_s,
            spread_s=spread_s,
            **(_turn(strip, turn, straight_m) if turn else {}),
        )
    except BadInput:  # no narrowing for so narrow a line, or boxes without room
        return None


def _offset(day: Scenario, throat: Gate) -> float | None:
    """How far right of the line's middle is the throat's, seen square to the line? None: too far for it."""
    ((_, left),) = in_line_m(day.start_line.spec, day.strip.middle_m[[throat.last_cut]])
    right = -float(left)
    wide = day.start.boxes * day.start.box_width_m
    most = (wide - float(day.strip.width_m[throat.last_cut])) / 2
    return right if abs(right) <= most else None


def _turn(strip: Strip, turn: Gate, straight_m: float) -> dict[str, Any]:
    cuts = slice(turn.first_cut, turn.last_cut + 1)
    return {
        "turn_after_m": max(LEAST_BETWEEN_M, float(strip.station_m[turn.first_cut]) - straight_m),
        "right": turn.inside.name == "RIGHT",
        "turn_deg": math.degrees(float(strip.bend_angle_rad[cuts].max())),
        "turn_m": float(strip.width_m[cuts].min()),
        "radius_m": float(np.min(strip.bend_radius_m[cuts])),
    }


def field_times(day: Scenario) -> tuple[float | None, float | None]:
    """Mean and spread of the field's 5 km times, as far as they are known."""
    times = [person.time_s for team in day.teams for person in team.people]
    known = [time for time in times if time]
    if len(known) >= max(LEAST_TIMES, day.runners // 2):
        return float(np.mean(known)), float(np.std(known, ddof=1))
    return day.field.time_s, day.field.spread_s
