"""Named changes of where a race is timed and where it ends: copies of a race day, checked anew."""

from __future__ import annotations

import math
from collections.abc import Iterable

from simrun.base.errors import BadInput
from simrun.scenario.scenario import Scenario

FINISH_WITHIN_M = 0.5
"""A checkpoint so near to the end of the measured line is the finish: nobody draws to the centimetre."""

FINISH_NAMES = ("finish", "the finish", "end of the race")


def with_checkpoints(scenario: Scenario, marks: Iterable[tuple[str, float]]) -> Scenario:
    """The race day timed at these names and metres and nowhere else; the marks of a drawing stay."""
    written = [{"name": name, "at": at_m} for name, at_m in marks]
    return scenario.changed({"course.checkpoints": written})


def with_more_checkpoints(scenario: Scenario, marks: Iterable[tuple[str, float]]) -> Scenario:
    """The race day timed at these names and metres as well."""
    written = scenario.document.get("course", {}).get("checkpoints", [])
    more = [{"name": name, "at": at_m} for name, at_m in marks]
    return scenario.changed({"course.checkpoints": [*written, *more]})


def ending_by(scenario: Scenario, until_m: float) -> Scenario:
    """The race day without the checkpoints beyond this: its races end at the last that is left.

    Unchanged where none would be left. Checkpoints of a drawing stay.
    """
    marks = scenario.document.get("course", {}).get("checkpoints", [])
    kept = [
        written
        for written, mark in zip(marks, scenario.course.checkpoints, strict=True)
        if mark.at_m <= until_m
    ]
    return scenario.changed({"course.checkpoints": kept}) if kept else scenario


def to_the_finish(scenario: Scenario) -> Scenario:
    """The race day timed at the finish too, where its own checkpoints end before it: races end there.

    Unchanged where the last of them is there already. Check: tests/unit/scenario/test_draw_again.py.
    """
    strip = scenario.strip
    if strip.length_m - strip.checkpoints[-1].station_m <= FINISH_WITHIN_M:
        return scenario
    taken = {mark.name for mark in strip.checkpoints}
    name = next(name for name in FINISH_NAMES if name not in taken)
    at_m = math.floor(10.0 * strip.length_m) / 10.0
    written = scenario.document.get("course", {}).get("checkpoints", [])
    return scenario.changed({"course.checkpoints": [*written, {"name": name, "at": at_m}]})


def once_round(scenario: Scenario, until_m: float | None) -> Scenario:
    """The same ground without its landmarks, and run once where the race ends on the first lap.

    A lap must close, a start need not; and on a shorter course a landmark might lie beyond the end.
    """
    marks = "landmarks" in scenario.document["course"]
    day = scenario.changed({"course.landmarks": None}) if marks else scenario
    if scenario.course.laps is None or until_m is None:
        return day
    try:
        once = day.changed({"course.laps": None, "course.checkpoints": []})
    except BadInput:
        return day
    return once if until_m <= once.strip.length_m else day


def with_time_limit(scenario: Scenario, limit_s: float) -> Scenario:
    """The race day whose clock stops after so many seconds."""
    return scenario.changed({"clock.limit": limit_s})
