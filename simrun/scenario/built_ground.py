"""From what is written about the ground to the Strip and the StartLine."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.course.source import CourseSource, Drawing, Laps, Piece
from simrun.course.start import ROW_OFFSET_M, StartLine, StartSpec, build_start_line
from simrun.course.strip import EdgeKind, Mark, Side
from simrun.scenario.checks.ground_checks import beyond_edge
from simrun.scenario.tables.schema import (
    MOST_TILT_DEG,
    CourseTable,
    EdgesTable,
    MarkTable,
    PieceTable,
    StartTable,
)
from simrun.scenario.tables.schema_teams import OWN, ToldLine
from simrun.scenario.tables.values import shown, shown_key
from simrun.scenario.teams import Team

if TYPE_CHECKING:
    from simrun.course.strip import Gate, Strip

BEHIND_ROWS_M = 5.0
"""Free ground behind the last row."""

EDGES = {"open": EdgeKind.OPEN, "marked": EdgeKind.MARKED, "barrier": EdgeKind.BARRIER}
SIDES = {"left": Side.LEFT, "right": Side.RIGHT}


def start_line(start: StartTable, strip: Strip) -> StartLine:
    """The painted line with its boxes; one that is aimed at a place is solved for this ground.

    Raises BadInput where the ground has no such place. Check: tests/unit/scenario/test_aim.py.
    """
    spec = _spec(start)
    if start.aim_at:
        from simrun.course.equal_ways import aimed_line, target_of

        _, cut = target_of(strip, start.aim_at, "start.aim")
        spec = aimed_line(strip, spec, cut, MOST_TILT_DEG)
    return build_start_line(spec)


def _spec(start: StartTable) -> StartSpec:
    return StartSpec(
        width_m=start.width_m,
        shape=start.shape,
        aim_m=start.aim_m,
        box_width_m=start.box_width_m,
        boxes=start.boxes,
        front_row=start.front_row,
        row_gap_m=start.row_gap_m,
        gun=start.gun,
        tilt_deg=start.tilt_deg,
        sideways_m=start.sideways_m,
    )


def ground_of(
    start: StartTable, course: CourseTable, most_runners: int, attachments: Mapping[str, str]
) -> Strip:
    """The course with room behind the line for the largest team's rows. Raises BadInput.

    Where the line is solved for the ground, a drawing is built first without the places on it.
    """
    told = (start, course, most_runners, attachments)
    if not start.aim_at:
        return _built(course_source(*told, build_start_line(_spec(start))))
    strip = _built(course_source(*told))
    line = start_line(start, strip)
    return _built(course_source(*told, line)) if course.drawn else strip


def course_source(
    start: StartTable,
    course: CourseTable,
    most_runners: int,
    attachments: Mapping[str, str],
    line: StartLine | None = None,
) -> CourseSource:
    """Everything the course is built from; line: for the places on it, which a drawing must leave free."""
    rows = math.ceil(most_runners / start.front_row)
    laps = course.laps
    return CourseSource(
        start_width_m=start.width_m,
        apron_m=ROW_OFFSET_M + (rows - 1) * start.row_gap_m + BEHIND_ROWS_M,
        pieces=tuple(_piece(piece) for piece in course.pieces),
        drawing=_drawing(course, attachments),
        laps=Laps(laps.first, laps.last, laps.times) if laps else None,
        checkpoints=_marks(course.checkpoints),
        landmarks=_marks(course.landmarks),
        stands=_stands(start, line, rows) if course.drawn and line else (),
    )


def _stands(
    start: StartTable, line: StartLine, rows: int
) -> tuple[tuple[int, NDArray[np.float64]], ...]:
    """Every place of so many full rows in every box that is not left empty."""
    abreast = start.front_row
    row, file = np.divmod(np.arange(rows * abreast), abreast)
    used = (box.number for box in line.boxes if box.number not in start.empty)
    ones = np.ones_like(row)
    return tuple((box, line.stand_m(box * ones, row + 1, file, abreast * ones)) for box in used)


def _marks(tables: Sequence[MarkTable]) -> tuple[Mark, ...]:
    return tuple(Mark(table.name, table.at_m, table.every_lap) for table in tables)


def _piece(table: PieceTable) -> Piece:
    return Piece(
        kind=table.piece,
        name=table.name,
        length_m=table.length_m or 0.0,
        width_m=table.width_m,
        side=SIDES.get(table.side or "", Side.NONE),
        angle_deg=table.angle_deg or 0.0,
        inside_radius_m=table.inside_radius_m or 0.0,
        around=table.around,
        left_edge=EDGES[table.left],
        right_edge=EDGES[table.right],
        surface=table.surface,
        climb_m=table.climb_m,
        first=table.first or "",
        last=table.last or "",
    )


def _drawing(course: CourseTable, attachments: Mapping[str, str]) -> Drawing | None:
    if course.drawn is None:
        return None
    edges = course.edges or EdgesTable()
    text = attachments[course.drawn]
    left, right = EDGES[edges.left], EDGES[edges.right]
    widths = tuple((table.at_m, table.width_m) for table in course.widths)
    return Drawing(text, course.drawn, left, right, course.width_m, widths)


def _built(source: CourseSource) -> Strip:
    """The course as a Strip; a drawing's mistakes name the drawing."""
    from simrun.course.build import build_strip

    try:
        # The places on the line are checked against a drawing's obstacles, so its ground is built with them.
        return build_strip(source) if source.drawing else _of_pieces(_without_line(source))
    except BadInput as wrong:
        raise (wrong.in_file(source.drawing.file) if source.drawing else wrong) from None


def _without_line(source: CourseSource) -> CourseSource:
    """Ground whose first piece has a width of its own is the same whatever line is painted on it."""
    told = bool(source.pieces) and source.pieces[0].width_m is not None
    return replace(source, start_width_m=0.0) if told else source


@lru_cache(maxsize=8)
def _of_pieces(source: CourseSource) -> Strip:
    """Built once and kept: while a line is dragged to and fro, the ground under it stays."""
    from simrun.course.build import build_strip

    return build_strip(source)


def weathered(strip: Strip, course: CourseTable) -> Strip:
    """The same ground with the footing and the wind of the day. Raises BadInput for an unknown stretch."""
    strip = replace(strip, day_footing=course.footing)
    if course.wind is None:
        return strip
    cells = np.flatnonzero(strip.section == _section(strip, course.wind.against))
    step = strip.middle_m[cells[-1] + 1] - strip.middle_m[cells[0]]
    wind = -course.wind.speed_m_s * step / max(float(np.hypot(*step)), 1e-9)
    return replace(strip, wind_m_s=(float(wind[0]), float(wind[1])))


def _section(strip: Strip, name: str) -> int:
    """The first stretch of this name."""
    if name in strip.section_names:
        return strip.section_names.index(name)
    known = [section for section in dict.fromkeys(strip.section_names) if section]
    allowed = "a stretch of the course: " + (", ".join(known) or "it names none")
    raise BadInput(Problem("course.wind.against", repr(name), allowed, nearest_word(name, known)))


def line_on_strip_problems(start: StartTable, strip: Strip) -> Iterator[Problem]:
    """The line must not be wider than the course is where it stands, nor lie beyond its edge."""
    here = abs(strip.station_m).argmin()
    width = float(strip.width_m[here])
    if start.width_m > width + 0.05:
        allowed = f"at most {width:.1f} m, the width of the course at its start"
        yield Problem("start.width", f"{start.width_m:g} m", allowed)
    elif start.width_m + 2 * abs(start.sideways_m) > width + 0.05:
        yield beyond_edge(start, width)


def line_problems(keys: Sequence[str], teams: Sequence[Team], strip: Strip) -> Iterator[Problem]:
    """Every turn, narrowing or mark that a team names must exist, and hold what is told there."""
    by_name: dict[str, list[Gate]] = {}
    for gate in sorted(strip.gates, key=lambda gate: gate.kind != "turn"):
        by_name.setdefault(gate.name, []).append(gate)
        by_name.setdefault(f"{gate.name}@{gate.lap}", []).append(gate)
    marks = {mark.name for mark in strip.checkpoints}
    for key, team in zip(keys, teams, strict=False):
        for name, line in team.lines.items():
            if name in marks and name not in by_name:
                if line != OWN:
                    allowed = "own: keep your own place across up to this checkpoint"
                    yield Problem(f"{key}.lines.{shown_key(name)}", shown(line), allowed)
            else:
                yield from _line_problem(f"{key}.lines", name, line, by_name, strip)


def _line_problem(
    key: str, name: str, line: ToldLine, by_name: Mapping[str, list[Gate]], strip: Strip
) -> Iterator[Problem]:
    if name not in by_name:
        plain = [word for word, gates in by_name.items() if "@" not in word]
        turns = [word for word in plain if by_name[word][0].kind == "turn"]
        allowed = "a turn: " + (", ".join(turns) or "the course has none") + "; or name@lap"
        others = [word for word in plain if word not in turns]
        allowed += f"; or a narrowing: {', '.join(others)}" if others else ""
        near = nearest_word(name, by_name if "@" in name else plain)
        yield Problem(f"{key}.{shown_key(name)}", "unknown turn", allowed, near)
        return
    gates = [gate for gate in by_name[name] if gate.kind == by_name[name][0].kind]
    if gates[0].kind != "turn":
        if line not in SIDES_OF_A_THROAT:
            allowed = "left, middle or right: it is a narrowing"
            yield Problem(f"{key}.{shown_key(name)}", shown(line), allowed)
        return
    widths = [strip.width_m[gate.first_cut : gate.last_cut + 1].min() for gate in gates]
    for part in line if isinstance(line, tuple) else (line,):
        if part in (*SIDES, OWN):
            allowed = "inside, middle, outside, or metres off the inside edge: it is a turn"
            yield Problem(f"{key}.{shown_key(name)}", shown(part), allowed)
        elif isinstance(part, float) and part > min(widths):
            allowed = f"at most {min(widths):.1f} m, the width of the course there"
            yield Problem(f"{key}.{shown_key(name)}", f"{part:g} m off the inside edge", allowed)


SIDES_OF_A_THROAT = (*SIDES, "middle")
