"""Do the clock, the line, the boxes and the field agree with themselves?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from simrun.base.errors import Problem, nearest_word
from simrun.scenario.tables.lengths import TIME_WORDS
from simrun.scenario.tables.schema import ClockTable, StartTable
from simrun.scenario.tables.schema_teams import CROSS_COUNTRY, TRACK, FieldTable
from simrun.scenario.tables.values import same_name, shown

PLACE_M = 0.45
"""The narrowest place in a front row, about one body (assumed)."""

SUM_OFF = 0.0015
"""Three shares written to three digits, such as 0.333, may miss 1 by this much; they are scaled."""

TINY = 1e-9


def clock_problems(clock: ClockTable) -> Iterator[Problem]:
    """The frame must be a whole number of steps."""
    steps = clock.frame_s / clock.step_s
    if abs(steps - round(steps)) > 1e-6 or round(steps) < 1:
        allowed = f"a multiple of clock.step_s, {clock.step_s:g}"
        yield Problem("clock.frame_s", f"{clock.frame_s:g}", allowed)


def wave_problems(start: StartTable, clock: ClockTable) -> Iterator[Problem]:
    """The last wave must go before the clock stops; waves without a gap are one wave."""
    last_s = (start.waves - 1) * start.wave_gap_s
    if last_s >= clock.limit_s:
        found = f"wave {start.waves} would go {last_s:g} s after the first gun"
        allowed = f"before the clock stops at {clock.limit_s:g} s (clock.limit)"
        yield Problem("start.wave_gap", found, allowed)
    if start.waves_by != "box" and start.waves == 1:
        yield Problem("start.waves_by", repr(start.waves_by), "only with start.waves = 2 or more")


def start_problems(start: StartTable) -> Iterator[Problem]:
    """The boxes must fit the line, the front row its box, the arc its common point."""
    if start.box_width_m > start.width_m + TINY:
        allowed = f"at most the width of the line, {start.width_m:g} m"
        yield Problem("start.box_width", f"{start.box_width_m:g} m", allowed)
    elif start.boxes * start.box_width_m > start.width_m + TINY:
        most = math.floor(start.width_m / start.box_width_m + TINY)
        found = f"{start.boxes} boxes of {start.box_width_m:g} m"
        allowed = f"at most {most} fit the line of {start.width_m:g} m"
        yield Problem("start.boxes", found, allowed)
    if row_is_tight(start):
        most = math.floor(start.box_width_m / PLACE_M + TINY)
        allowed = f"at most {most} side by side in {start.box_width_m:g} m, {PLACE_M} m each"
        yield Problem("start.front_row", f"{start.front_row}", allowed)
    yield from _arc_problems(start)
    yield from _empty_problems(start)


def row_is_tight(start: StartTable) -> bool:
    """Are there more runners side by side in a box than it has places?"""
    return start.box_width_m / start.front_row < PLACE_M - TINY


def _arc_problems(start: StartTable) -> Iterator[Problem]:
    if start.aim_at:
        yield from _solved_problems(start)
    elif start.shape == "straight":
        if start.aim_m is not None:
            yield Problem("start.aim", f"{start.aim_m:g} m", "only with shape = 'arc'")
    elif start.aim_m is None:
        yield Problem("start.aim", "missing", "needed: an arc's distance to its common point")
    elif start.aim_m <= start.width_m / 2:
        allowed = f"more than half the line, {start.width_m / 2:g} m"
        yield Problem("start.aim", f"{start.aim_m:g} m", allowed)


def _solved_problems(start: StartTable) -> Iterator[Problem]:
    """A line that is solved for a place is an arc, its tilt is found, and equal ways take two boxes."""
    solved = f"not together with aim = {shown(start.aim_at)}, which finds"
    if "written_shape" in start.model_fields_set and start.written_shape == "straight":
        yield Problem(
            "start.shape", "'straight'", f"{solved} an arc; leave shape out, or take aim away"
        )
    if "tilt_deg" in start.model_fields_set:
        allowed = f"{solved} the tilt itself; leave tilt out, or write aim as a length"
        yield Problem("start.tilt", f"{start.tilt_deg:g}", allowed)
    if start.boxes < 2:
        yield Problem(
            "start.aim", f"{shown(start.aim_at)} with one box", "two boxes or more to be equal"
        )


def _empty_problems(start: StartTable) -> Iterator[Problem]:
    for box in start.empty:
        if box > start.boxes:
            yield Problem("start.empty", f"box {box}", f"a box from 1 to {start.boxes}")
    for box in sorted({box for box in start.empty if start.empty.count(box) > 1}):
        yield Problem("start.empty", f"box {box} twice", "every box once")
    if len(set(start.empty)) >= start.boxes:
        yield Problem("start.empty", "every box is left empty", "at least one box to run from")


def field_problems(field: FieldTable) -> Iterator[Problem]:
    """One way of saying how fast the field is, and shares that make a whole."""
    if abs(field.lines.total - 1) > SUM_OFF:
        found = f"inside, middle and outside add up to {field.lines.total:g}"
        yield Problem("field.lines", found, "they must add up to 1")
    if field.seed_times and field.written_ability:
        allowed = "either ability or seed_times, not both"
        yield Problem("field.ability", f"{field.written_ability!r}", allowed)
    for race in field.bodies:
        if same_name(race) not in map(same_name, field.race):
            allowed = "a race of the entry list that runs here: " + (
                ", ".join(field.race) or "none is chosen"
            )
            yield Problem("field.bodies", repr(race), allowed, nearest_word(race, field.race))
    yield from _seed_problems(field)
    yield from _time_problems(field)
    if field.teams is not None and (field.fill or field.seed_times):
        other = "fill" if field.fill else "seed_times"
        yield Problem("field.teams", f"{field.teams}", f"not together with field.{other}")


def _seed_problems(field: FieldTable) -> Iterator[Problem]:
    """A named course needs its factor, and nothing else may have one."""
    named = field.seed_on not in (CROSS_COUNTRY, TRACK)
    if named and field.seed_factor is None:
        allowed = f"{CROSS_COUNTRY}, {TRACK}, or a course's name together with field.seed_factor"
        near = nearest_word(field.seed_on, (CROSS_COUNTRY, TRACK))
        yield Problem("field.seed_on", repr(field.seed_on), allowed, near)
    if not named and field.seed_factor is not None:
        allowed = "only with seed_on = the name of a course"
        yield Problem("field.seed_factor", f"{field.seed_factor:g}", allowed)


def _time_problems(field: FieldTable) -> Iterator[Problem]:
    wants = {"even": ("time",), "normal": ("time", "spread")}.get(field.ability or "", ())
    for key, value in (("time", field.time_s), ("spread", field.spread_s)):
        if key in wants and value is None:
            allowed = f"needed with ability = {field.ability!r}: {TIME_WORDS}"
            yield Problem(f"field.{key}", "missing", allowed)
        if key not in wants and value is not None:
            with_it = "'even' or 'normal'" if key == "time" else "'normal'"
            yield Problem(f"field.{key}", f"{value:g} s", f"only with ability = {with_it}")
