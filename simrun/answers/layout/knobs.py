"""Which start layouts are compared? Knobs by plain names, the present values, and changed copies of the day.

A layout is the scenario with some knobs turned and nothing else: `layout_of(scenario, {"width": 80})`.
Rules that a director would apply without saying: the boxes take up as much of the line as they do now,
unless their width is named; a line wider than the first piece widens the ground at the start; the arc is
about the middle of the first narrowing; a drawn course keeps its ground.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np

from simrun.answers.layout.longer_ground import first_straight_m, ground_changes, throat_piece
from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.course.start import bow_m
from simrun.measure.crowd import first_narrowing_cut
from simrun.runners.ability import VARSITY, varsity_law
from simrun.scenario.scenario import Scenario

MOST_LAYOUTS = 400
FRAME_S = 0.25
TINY = 1e-9
NARROWING, FINISH = "first narrowing", "finish"
MARKS_M = {"400 m": 400.0, "1 km": 1000.0}

Values = Mapping[str, float]


@dataclass(frozen=True)
class Knob:
    """Something a director can move: its name, what it is, its unit, and whether only whole numbers do."""

    name: str
    title: str
    unit: str = "m"
    whole: bool = False

    def said(self, value: float) -> str:
        """A value in words: "straight", "arc" or a number with its unit."""
        if self.name == "arc" and value in (0.0, 1.0):
            return "arc" if value else "straight line"
        number = f"{value:.3f}".rstrip("0").rstrip(".")
        return f"{self.title} {number} {self.unit}".rstrip()


KNOBS = {
    knob.name: knob
    for knob in (
        Knob("width", "line width"),
        Knob("straight", "straight to the narrowing"),
        Knob("throat", "narrowing's width"),
        Knob("box-width", "box width"),
        Knob("front-row", "front row", "abreast", whole=True),
        Knob("arc", "share of the full arc", ""),
        Knob("teams", "teams", "", whole=True),
        Knob("waves", "waves", "", whole=True),
        Knob("wave-gap", "gap between waves", "s"),
        Knob("spread", "spread of the 5 km times", "s"),
    )
}
"""arc: 0 is a straight line, 1 the arc about the middle of the first narrowing, between them so much of
its bow."""

WORDS = {"arc": {"straight": 0.0, "arc": 1.0}}


def ranges_of(asked: list[str]) -> dict[str, tuple[float, ...]]:
    """What should be varied, from words such as "width=60:100:10", "teams=20,24", "arc=straight,arc"?

    from:to:step with both ends, or values with commas. Raises BadInput.
    """
    found = dict(map(_range_of, asked))
    if len(found) < len(asked):
        raise BadInput(Problem("--vary", "a name twice", "every name once"))
    count = math.prod(len(values) for values in found.values())
    if count > MOST_LAYOUTS:
        raise BadInput(
            Problem("--vary", f"{count} layouts", f"at most {MOST_LAYOUTS} in one sweep")
        )
    return found


def _range_of(asked: str) -> tuple[str, tuple[float, ...]]:
    name, _, text = asked.partition("=")
    if name not in KNOBS:
        allowed = "one of " + ", ".join(KNOBS)
        raise BadInput(Problem("--vary", repr(name), allowed, nearest_word(name, KNOBS)))
    try:
        values = _values(text, WORDS.get(name, {}))
        if KNOBS[name].whole and any(value != round(value) for value in values):
            raise ValueError(text)
    except ValueError:
        numbers = "whole numbers" if KNOBS[name].whole else "numbers"
        allowed = f"{numbers}: {name}=FROM:TO:STEP or {name}=A,B,C"
        raise BadInput(Problem("--vary", repr(asked), allowed)) from None
    return name, values


def _values(text: str, words: Mapping[str, float]) -> tuple[float, ...]:
    if ":" not in text:
        values = [words[part] if part in words else float(part) for part in text.split(",")]
    else:
        low, high, step = (float(part) for part in text.split(":"))
        if not (step > 0 and low <= high and (high - low) / step < MOST_LAYOUTS):
            raise ValueError(text)
        values = [round(low + i * step, 9) for i in range(1 + int((high - low) / step + 1e-9))]
    if not all(math.isfinite(value) for value in values):
        raise ValueError(text)
    return tuple(sorted(set(values)))


def grid(ranges: Mapping[str, tuple[float, ...]]) -> list[dict[str, float]]:
    """Every combination of the values, the last name changing fastest."""
    return [dict(zip(ranges, values, strict=True)) for values in product(*ranges.values())]


def present(scenario: Scenario) -> dict[str, float]:
    """Where do the knobs stand now? Those that the course does not have are left out."""
    start, found = scenario.start, {}
    found["width"] = start.width_m
    if (straight := first_straight_m(scenario)) is not None:
        found["straight"] = straight
    if (piece := throat_piece(scenario)) is not None:
        found["throat"] = scenario.course.pieces[piece].width_m or 0.0
    found |= {"box-width": start.box_width_m, "front-row": float(start.front_row)}
    if scenario.strip.gates:
        found["arc"] = bow_m(scenario.start_line.spec) / _full_bow_m(scenario, start.width_m)
    found |= {"teams": float(len(scenario.teams)), "waves": float(start.waves)}
    found["wave-gap"] = start.wave_gap_s
    if (spread := _spread_s(scenario)) is not None:
        found["spread"] = spread
    return found


def _spread_s(scenario: Scenario) -> float | None:
    field = scenario.field
    if field.ability in VARSITY:
        return varsity_law(VARSITY[field.ability]).sd_s
    return field.spread_s


def aim_m(scenario: Scenario) -> float:
    """How far ahead of the middle of the line is the middle of the first narrowing (or turn)?"""
    cut = first_narrowing_cut(scenario.strip)
    cut = scenario.strip.gates[0].first_cut if cut is None else cut
    return float(np.hypot(*scenario.strip.middle_m[cut]))


def _full_bow_m(scenario: Scenario, width_m: float) -> float:
    away = aim_m(scenario)
    return away - math.sqrt(max(0.0, away**2 - (width_m / 2) ** 2))


def layout_of(scenario: Scenario, values: Values, until_m: float | None = None) -> Scenario:
    """The race day with these knobs turned, raced to the finish or `until_m`.

    Raises BadInput where the layout does not fit: boxes wider than the line, an arc longer than the
    straight, more abreast than a box has places.
    """
    base, now = _first_lap(scenario, until_m), present(scenario)
    if all(abs(value - now.get(name, math.inf)) < TINY for name, value in values.items()):
        values = {}  # the same races as of the present layout, and the same place in the store
    changes = {**ground_changes(base, values), **_people_changes(base, values)}
    changes |= {**_line_changes(base, values), "clock.frame_s": _frame_s(base)}
    return _with_marks(_with_arc(base.changed(changes), values), until_m)


def _first_lap(scenario: Scenario, until_m: float | None) -> Scenario:
    """The same ground run once, where the race ends on the first lap: a lap must close, a start need not.

    Landmarks go too: nothing here shows them, and on a shorter course they might lie beyond the end.
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


def _frame_s(scenario: Scenario) -> float:
    step = scenario.clock.step_s
    return round(step * max(1, round(FRAME_S / step)), 6)


def _line_changes(scenario: Scenario, values: Values) -> dict[str, Any]:
    """Width, boxes and rows of the line."""
    start, changes = scenario.start, dict[str, Any]()
    if values.keys() & {"width", "box-width", "teams"}:
        boxes = int(values.get("teams", start.boxes))
        taken = start.boxes * start.box_width_m / start.width_m
        box = values.get("box-width", values.get("width", start.width_m) * taken / boxes)
        width = values.get("width", boxes * box / taken)
        changes |= {"start.width": width, "start.boxes": boxes, "start.box_width": box}
    for name, key in (("front-row", "start.front_row"), ("waves", "start.waves")):
        if name in values:
            changes[key] = int(values[name])
    if "wave-gap" in values:
        changes["start.wave_gap"] = values["wave-gap"]
    return changes


def _people_changes(scenario: Scenario, values: Values) -> dict[str, Any]:
    """How many teams there are, and how far apart the times lie."""
    changes: dict[str, Any] = {}
    if scenario.field.seed_times and values.keys() & {"teams", "spread"}:
        allowed = "teams and spread only without an entry list"
        raise BadInput(Problem("--vary", "a field out of an entry list", allowed))
    if "teams" in values:
        changes |= _fewer_or_more(scenario, int(values["teams"]))
    if "spread" in values:
        mean = scenario.field.time_s
        if scenario.field.ability in VARSITY:
            mean = varsity_law(VARSITY[scenario.field.ability]).mean_s
        changes |= {"field.ability": "normal", "field.time": mean, "field.spread": values["spread"]}
    return changes


def _fewer_or_more(scenario: Scenario, count: int) -> dict[str, Any]:
    """So many teams: those written down stay, ours first; each keeps its place along the line."""
    start = scenario.start
    written = [dict(team) for team in scenario.document.get("teams", [])]
    kept = sorted(written, key=lambda team: not team.get("ours", False))[:count]
    taken: set[int] = set()
    for team in kept:
        if team.get("box"):
            team["box"] = _free_box(1 + (team["box"] - 1) * count // start.boxes, count, taken)
            taken.add(team["box"])
    changes: dict[str, Any] = {"teams": kept} if kept else {}
    changes |= {"field.fill": True, "start.boxes": count}
    changes |= {"field.teams": None} if scenario.field.teams is not None else {}
    return changes | ({"start.empty": None} if "empty" in scenario.document["start"] else {})


def _free_box(wanted: int, count: int, taken: set[int]) -> int:
    free = [box for box in range(1, count + 1) if box not in taken]
    return min(free, key=lambda box: abs(box - wanted))


def _with_arc(day: Scenario, values: Values) -> Scenario:
    if "arc" not in values:
        return day
    if not day.strip.gates:
        raise BadInput(Problem("--vary", "arc", "only where the course narrows or turns"))
    share, half = values["arc"], day.start.width_m / 2
    if not 0 <= share <= 1:
        raise BadInput(Problem("--vary", f"arc={share:g}", "0 (straight) to 1 (full arc)"))
    if share == 0:
        aim = {"start.aim": None} if "aim" in day.document["start"] else {}
        return day.changed({"start.shape": "straight", **aim})
    bow = share * _full_bow_m(day, day.start.width_m)
    return day.changed({"start.shape": "arc", "start.aim": (bow**2 + half**2) / (2 * bow)})


def _with_marks(day: Scenario, until_m: float | None) -> Scenario:
    """The first narrowing, 400 m, 1 km and the end as the only checkpoints; a drawing's own stay.

    Layouts are compared at the first narrowing, so it is kept where it lies beyond `until_m` too.
    """
    length = math.floor(100 * day.strip.length_m) / 100
    end = length if until_m is None or until_m >= length else until_m
    marks = {name: at for name, at in MARKS_M.items() if at < end - 1}
    cut = first_narrowing_cut(day.strip)
    if cut is not None and day.strip.station_m[cut] < length - 1:
        marks[NARROWING] = round(float(day.strip.station_m[cut]), 3)
    marks[FINISH if end == length else f"{end:g} m"] = end
    # Without any, the finish stands there by itself: it is not the drawing's.
    bare = day.changed({"course.checkpoints": []}).strip.checkpoints if day.course.drawn else ()
    drawn = {mark.name for mark in bare} - {FINISH}
    ordered = sorted(marks.items(), key=lambda mark: mark[1])
    ordered = [mark for mark in ordered if mark[0] not in drawn]
    return day.changed({"course.checkpoints": [{"name": n, "at": at} for n, at in ordered]})


def headline(scenario: Scenario) -> str:
    """At which checkpoint are layouts compared? Where the course is first narrow, else the first."""
    names = [mark.name for mark in scenario.strip.checkpoints]
    return NARROWING if NARROWING in names else names[0]


def said(values: Values) -> str:
    """A layout in words; nothing turned is the present one."""
    return ", ".join(KNOBS[name].said(value) for name, value in values.items()) or "as it is"
