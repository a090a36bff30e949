"""What may a director vary? Settings by plain names, their present values, and changed copies of the day.

A layout is the scenario with some settings changed and nothing else: `layout_of(scenario, {"width": 80})`.
Rules that a director would apply without saying: the boxes take up as much of the line as they do now,
unless their width is named; a line wider than the first piece widens the ground at the start; the straight
ends where the course is first narrow, as a wheel reads it, and its first piece takes up the difference; the
arc is about the point straight ahead, as far away as the middle of the first narrowing; a line that is moved
sideways stays on the ground there is; a drawn course keeps its ground.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from simrun.answers.layout.ground_changes import ground_changes, throat_piece, to_narrow_m
from simrun.answers.options import length_of
from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.base.units import METRES_A_FOOT, METRES_A_YARD
from simrun.course.start import bow_m, middle_m
from simrun.course.strip import Strip
from simrun.measure.crowd import first_narrowing_cut
from simrun.measure.places import BESIDE_M
from simrun.runners.ability import VARSITY, varsity_law
from simrun.scenario.changes.changes_course import once_round, with_checkpoints
from simrun.scenario.changes.changes_layout import (
    LayoutChange,
    with_arc,
    with_layout,
    with_straight_line,
)
from simrun.scenario.scenario import Scenario

FRAME_S = 0.25
LEAST_TILT_DEG = 0.05
LEAST_ASIDE_M = 0.005
TINY = 1e-9
NARROWING, AFTER_TURN, FINISH = "first narrowing", "after the turn", "finish"
MARKS_M = {"400 m": 400.0, "1 km": 1000.0}

ARC_WORDS = {"straight": 0.0, "arc": 1.0}

Values = Mapping[str, float]


@dataclass(frozen=True)
class Setting:
    """Something a director can change: its name, what it is, its unit, and whether only whole numbers do."""

    name: str
    title: str
    unit: str = "m"
    whole: bool = False

    def said(self, value: float, units: str = "metric") -> str:
        """The setting in words: "arc", "turned 3.8 degrees to the left", "line width 60 m"."""
        told = self.value_text(value, units)
        if self.name == "aim":
            return f"arc about a point {told} ahead"
        if self.name == "tilt" and abs(value) < LEAST_TILT_DEG:
            return "not turned"
        side = "left" if value >= 0 else "right"
        if self.name == "tilt":
            return f"turned {abs(value):.1f} degrees to the {side}"
        if self.name == "sideways":
            aside = self.value_text(abs(value), units)
            return f"moved {aside} to the {side}" if abs(value) >= LEAST_ASIDE_M else "not moved"
        return told if self.name == "arc" and value in (0.0, 1.0) else f"{self.title} {told}"

    def value_of(self, text: str) -> float:
        """What was typed: a number, a length with its unit, or a word for the arc. Raises ValueError."""
        if self.name == "arc" and text in ARC_WORDS:
            return ARC_WORDS[text]
        if self.name == "sideways" and text.strip().startswith("-"):
            return -length_of(text.strip()[1:])
        return length_of(text.strip()) if self.unit == "m" else float(text)

    def value_text(self, value: float, units: str = "metric") -> str:
        """The value alone, in the reader's units."""
        if self.name == "arc" and value in (0.0, 1.0):
            return "arc" if value else "straight line"
        if self.unit == "m" and units == "us":
            return _us_text(value)
        return f"{_plain(value, 3)} {self.unit}".rstrip()


def _plain(value: float, digits: int) -> str:
    """A number without empty decimals."""
    return f"{value:.{digits}f}".rstrip("0").rstrip(".")


def _us_text(metres: float) -> str:
    """Feet below twenty of them, else yards, to the tenth."""
    feet = metres / METRES_A_FOOT
    return f"{_plain(feet, 1)} ft" if abs(feet) < 20 else f"{_plain(metres / METRES_A_YARD, 1)} yd"


SETTINGS = {
    setting.name: setting
    for setting in (
        Setting("width", "line width"),
        Setting("straight", "straight to where it is narrow"),
        Setting("throat", "narrowing width"),
        Setting("box-width", "box width"),
        Setting("front-row", "front row", "abreast", whole=True),
        Setting("arc", "share of the full arc", ""),
        Setting("aim", "arc about a point so far ahead"),
        Setting("tilt", "turned to the left", "degrees"),
        Setting("sideways", "moved to the left"),
        Setting("teams", "teams", "", whole=True),
        Setting("waves", "waves", "", whole=True),
        Setting("wave-gap", "gap between waves", "s"),
        Setting("spread", "spread of the 5 km times", "s"),
    )
}
"""arc: 0 is a straight line, 1 the arc about the point straight ahead that is as far away as the middle of
the first narrowing, between them so much of its bow."""


def present(scenario: Scenario) -> dict[str, float]:
    """What are the settings now? Those that the course does not have are left out."""
    start, found = scenario.start, {}
    found["width"] = start.width_m
    if (straight := to_narrow_m(scenario)) is not None:
        found["straight"] = straight
    if (piece := throat_piece(scenario)) is not None:
        found["throat"] = scenario.course.pieces[piece].width_m or 0.0
    found |= {"box-width": start.box_width_m, "front-row": float(start.front_row)}
    if scenario.strip.gates:
        found["arc"] = bow_m(scenario.start_line.spec) / _full_bow_m(scenario, start.width_m)
    spec = scenario.start_line.spec
    if spec.aim_m is not None:
        found["aim"] = spec.aim_m
    found |= {"tilt": spec.tilt_deg, "sideways": spec.sideways_m}
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
    """How far is it from the middle of the line to the middle of the first narrowing (or turn)?"""
    cut = first_narrowing_cut(scenario.strip)
    cut = scenario.strip.gates[0].first_cut if cut is None else cut
    return float(np.hypot(*(scenario.strip.middle_m[cut] - middle_m(scenario.start_line.spec))))


def _full_bow_m(scenario: Scenario, width_m: float) -> float:
    away = aim_m(scenario)
    return away - math.sqrt(max(0.0, away**2 - (width_m / 2) ** 2))


def layout_of(
    scenario: Scenario, values: Values, until_m: float | None = None, at: str = ""
) -> Scenario:
    """The race day with these settings, raced to the finish or `until_m`.

    at: the mark at which layouts are compared; the races go on to it where it lies beyond `until_m`. Raises
    BadInput where the layout does not fit: boxes wider than the line, an arc longer than the straight, more
    abreast than a box has places.
    """
    until_m = None if at == FINISH else until_m
    asked_m, now = compared_at_m(scenario, at), present(scenario)
    if asked_m is not None:
        asked_m += values["straight"] - now["straight"] if "straight" in values else 0.0
        until_m = None if until_m is None else max(until_m, asked_m)
    base = once_round(scenario, until_m)
    if all(abs(value - now.get(name, math.inf)) < TINY for name, value in values.items()):
        values = {}  # the same races as of the present layout, and the same place in the store
    changes = {**ground_changes(base, values), **_people_changes(base, values)}
    changes |= {**_line_changes(base, values), "frame_s": _frame_s(base)}
    day = _laid(base, scenario, LayoutChange(**changes))
    own = {at: asked_m} if asked_m is not None and at not in (NARROWING, *MARKS_M) else {}
    return _with_marks(_with_arc(day, values), until_m, own)


def _laid(base: Scenario, whole: Scenario, change: LayoutChange) -> Scenario:
    """The layout; a line aimed at a place is solved for the whole of the changed course, not for one lap."""
    if not whole.start.aim_at:
        return with_layout(base, change)
    untold = replace(change, tilt_deg=None)
    spec = with_layout(whole, untold).start_line.spec
    tilt_deg = spec.tilt_deg if change.tilt_deg is None else change.tilt_deg
    return with_arc(with_layout(base, untold), spec.aim_m or 0.0, tilt_deg)


def compared_at_m(scenario: Scenario, at: str) -> float | None:
    """How far along is the mark of this name, as the course is? None: the usual one, or the finish.

    Raises BadInput for a name that the course does not have.
    """
    strip = scenario.strip
    known = {mark.name: mark.station_m for mark in strip.checkpoints}
    known |= {name: m for name, m in MARKS_M.items() if m < strip.length_m - 1}
    if (turn_m := _after_turn_m(strip)) is not None:
        known[AFTER_TURN] = turn_m
    if (cut := first_narrowing_cut(strip)) is not None:
        known[NARROWING] = float(strip.station_m[cut])
    if at in ("", FINISH):
        return None
    if at not in known:
        names = [name for name in known if name != FINISH] + [FINISH]
        allowed = "one of " + ", ".join(names)
        raise BadInput(Problem("--at", repr(at), allowed, nearest_word(at, names)))
    return known[at]


def _after_turn_m(strip: Strip) -> float | None:
    """Where has the field gathered speed again after the first turn? None where there is none so early."""
    turns = (gate for gate in strip.gates if gate.kind == "turn")
    turn = next(turns, None)
    at_m = None if turn is None else round(float(strip.station_m[turn.last_cut]) + BESIDE_M, 1)
    return at_m if at_m is not None and at_m < strip.length_m - 1 else None


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
        changes |= {"width_m": width, "boxes": boxes, "box_width_m": box}
    for name, key in (("front-row", "front_row"), ("waves", "waves")):
        if name in values:
            changes[key] = int(values[name])
    for name, key in (("tilt", "tilt_deg"), ("sideways", "sideways_m")):
        if name in values:
            changes[key] = values[name]
    if "wave-gap" in values:
        changes["wave_gap_s"] = values["wave-gap"]
    return changes


def _people_changes(scenario: Scenario, values: Values) -> dict[str, Any]:
    """How many teams there are, and how far apart the times lie."""
    changes: dict[str, Any] = {}
    if scenario.field.seed_times and values.keys() & {"teams", "spread"}:
        allowed = "teams and spread only without an entry list"
        raise BadInput(Problem("--vary", "a field out of an entry list", allowed))
    if "teams" in values:
        changes["teams"] = int(values["teams"])
    if "spread" in values:
        mean = scenario.field.time_s
        if scenario.field.ability in VARSITY:
            mean = varsity_law(VARSITY[scenario.field.ability]).mean_s
        changes["times_s"] = (mean, values["spread"])
    return changes


def _with_arc(day: Scenario, values: Values) -> Scenario:
    if "aim" in values:
        if "arc" in values:
            raise BadInput(Problem("--vary", "arc and aim together", "one or the other"))
        return with_arc(day, values["aim"])
    if "arc" not in values:
        return day
    if not day.strip.gates:
        raise BadInput(Problem("--vary", "arc", "only where the course narrows or turns"))
    share, half = values["arc"], day.start.width_m / 2
    if not 0 <= share <= 1:
        raise BadInput(Problem("--vary", f"arc={share:g}", "0 (straight) to 1 (full arc)"))
    if share == 0:
        return with_straight_line(day)
    bow = share * _full_bow_m(day, day.start.width_m)
    return with_arc(day, (bow**2 + half**2) / (2 * bow))


def _with_marks(day: Scenario, until_m: float | None, own: Mapping[str, float]) -> Scenario:
    """The first narrowing, after the first turn, 400 m, 1 km, `own` and the end as the only checkpoints; a
    drawing's own stay.

    Layouts are compared at the first narrowing, so it is kept where it lies beyond `until_m` too.
    """
    length = math.floor(100 * day.strip.length_m) / 100
    end = length if until_m is None or until_m >= length else until_m
    marks = {name: at for name, at in MARKS_M.items() if at < end - 1}
    cut = first_narrowing_cut(day.strip)
    if cut is not None and day.strip.station_m[cut] < length - 1:
        marks[NARROWING] = round(float(day.strip.station_m[cut]), 3)
    turn_m = _after_turn_m(day.strip)
    if turn_m is not None and turn_m < end - 1:
        marks[AFTER_TURN] = turn_m
    marks |= own
    if end == length or end not in marks.values():
        marks[FINISH if end == length else f"{end:g} m"] = end
    # Without any, the finish stands there by itself: it is not the drawing's.
    bare = with_checkpoints(day, []).strip.checkpoints if day.course.drawn else ()
    drawn = {mark.name for mark in bare} - {FINISH}
    ordered = sorted(marks.items(), key=lambda mark: mark[1])
    ordered = [mark for mark in ordered if mark[0] not in drawn]
    return with_checkpoints(day, ordered)


def headline(scenario: Scenario, at: str = "") -> str:
    """At which checkpoint are layouts compared? As asked, else where it is first narrow, else the first."""
    names = [mark.name for mark in scenario.strip.checkpoints]
    if at:
        return at
    return NARROWING if NARROWING in names else names[0]


def said(values: Values, units: str = "metric") -> str:
    """A layout in words; nothing changed is the present one."""
    told = (SETTINGS[name].said(value, units) for name, value in values.items())
    return ", ".join(told) or "as it is"


def ground_m(scenario: Scenario, values: Values) -> float:
    """How many metres of line, of straight and of narrowing does a layout need beyond what is there?"""
    now = present(scenario)
    named = values.keys() & {"width", "straight", "throat"}
    return float(sum(max(0.0, values[name] - now[name]) for name in named))
