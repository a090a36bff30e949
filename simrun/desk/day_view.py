"""What does the page show of a race day? Ground, line, people and plan as plain numbers and words."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.answers.check.inspection import inspect
from simrun.answers.check.words import guidance_rows
from simrun.answers.layout.ground_changes import first_straight_m, throat_piece
from simrun.base.errors import BadInput, SimrunError
from simrun.course.start import bow_m, box_ends_m, paint_m
from simrun.course.strip import Mark, Side
from simrun.desk.kept_day import KeptDay
from simrun.measure.stretches import hills
from simrun.measure.wheel import extra_metres, measure_ground
from simrun.pages.cautions import CAUTION
from simrun.scenario.checks.place_checks import station_of
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema import MOST_BOXES, MOST_TILT_DEG, WIDEST_M

PAINT_POINTS = 33
MOST_LINE_M = 150.0
MOST_WAVES = 6


def view_of(kept: KeptDay) -> dict[str, Any]:
    """Everything the page shows of one file; where it cannot be read, what is wrong with it."""
    text = kept.look()
    undo, redo = kept.steps
    told: dict[str, Any] = {
        "file": kept.path.name,
        "digest": kept.named(text),
        "undo": undo,
        "redo": redo,
    }
    try:
        return told | day_of(kept.day()) | {"races": kept.races(), "race": kept.race}
    except SimrunError as wrong:
        return told | {"name": kept.path.stem, "wrong": problem_lines(wrong)}


def problem_lines(wrong: SimrunError) -> list[str]:
    """What is wrong, a line a mistake, without the file's path: the page shows which file it is."""
    if not isinstance(wrong, BadInput):
        return [str(wrong)]
    lines = []
    for problem in wrong.problems:
        hint = f"; did you mean {problem.nearest!r}?" if problem.nearest else ""
        lines.append(f"{problem.key}: {problem.found}; {problem.allowed}{hint}")
    return lines


def day_of(day: Scenario) -> dict[str, Any]:
    """A race day that can be read."""
    return {
        "name": day.name,
        "about": day.about,
        "invented": day.invented,
        "units": day.units,
        "runners": day.runners,
        "ground": ground_of(day),
        **line_of(day),
        "limits": limits_of(day),
        "teams": [
            {"name": team.name, "box": team.box, "runners": team.runners, "ours": team.ours}
            for team in day.teams
        ],
        "ours": ours_of(day),
        # Where the file tells the field its opening, a word for the start would do nothing.
        "others": None if day.field.told_opening is not None else day.field.start,
        "pieces": pieces_of_course(day),
        "places": places_of(day),
        "caution": CAUTION,
        "lists": {"entries": day.field.seed_times, "boxes": day.start.box_sheet},
    }


def line_of(day: Scenario) -> dict[str, Any]:
    """The line and its boxes, with what is exact of them: all that changes while it is dragged."""
    start, line = day.start, day.start_line
    teams = {team.box: team.name for team in day.teams if team.box}
    extra = extra_metres(day)
    ends = paint_m(line.spec, box_ends_m(line.spec))
    half = start.width_m / 2
    paint = paint_m(line.spec, np.linspace(-half, half, PAINT_POINTS))
    throat = throat_piece(day)
    return {
        "start": {
            "width": start.width_m,
            "shape": start.shape,
            "bow": round(bow_m(line.spec), 3),
            "tilt": line.spec.tilt_deg,
            "sideways": line.spec.sideways_m,
            "boxes": start.boxes,
            "box_width": start.box_width_m,
            "front_row": start.front_row,
            "row_gap": start.row_gap_m,
            "empty": list(start.empty),
            "draw": start.draw,
            "waves": start.waves,
            "wave_gap": start.wave_gap_s,
        },
        "straight": first_straight_m(day),
        "throat": None
        if throat is None
        else {
            "number": throat + 1,
            "name": day.course.pieces[throat].name,
            "width": day.course.pieces[throat].width_m,
        },
        "line": {
            "paint": _points(paint),
            "ends": _points(ends),
            "gun": _points(line.gun_m[None, :]),
            "extra": [round(float(metres), 2) for metres in extra],
            "teams": [teams.get(box.number, "") for box in line.boxes],
            "to": day.strip.gates[0].name if day.strip.gates else "finish",
        },
    }


def limits_of(day: Scenario) -> dict[str, list[float]]:
    """Between which ends may each be dragged? What is typed beyond is told by the file's own check."""
    start, pieces = day.start, day.course.pieces
    here = float(day.strip.width_m[np.abs(day.strip.station_m).argmin()])
    widest = min(WIDEST_M, max(MOST_LINE_M, start.width_m)) if pieces else here
    straight = pieces[0].length_m if pieces and pieces[0].piece == "straight" else None
    limits = {
        "width": [start.boxes * start.box_width_m, widest],
        "bow": [0.0, min(0.49 * start.width_m, 0.9 * (straight or start.width_m))],
        "tilt": [-MOST_TILT_DEG, MOST_TILT_DEG],
        "sideways": [-max(0.0, (here - start.width_m) / 2), max(0.0, (here - start.width_m) / 2)],
        "boxes": [1.0, float(MOST_BOXES)],
        "box_width": [0.5, start.width_m / start.boxes],
        "front_row": [1.0, 12.0],
        "waves": [1.0, float(MOST_WAVES)],
        "wave_gap": [0.0, 600.0],
    }
    if straight is not None:
        limits["straight"] = [max(10.0, math.ceil(bow_m(day.start_line.spec)) + 1.0), 800.0]
    if throat_piece(day) is not None:
        limits["throat"] = [1.0, max(start.width_m, 2.0)]
    return limits


def pieces_of_course(day: Scenario) -> list[dict[str, Any]]:
    """Every piece that can be made wider or narrower: a point on its middle, which way left is, how wide.

    Of a narrowing the point is at its end, where it has its width.
    """
    strip, told = day.strip, []
    raced = (strip.station_m[:-1] >= 0) & (np.arange(len(strip.section)) < strip.finish_cut)
    long_m = np.hypot(*np.diff(strip.middle_m, axis=0).T)
    width = day.start.width_m
    for index, piece in enumerate(day.course.pieces):
        cells = np.flatnonzero((strip.section == index) & raced)
        if piece.piece == "again" or not len(cells):
            continue
        first = cells[0]
        last = first + int(np.argmax(np.append(np.diff(cells) > 1, True)))
        here = piece.width_m or width
        cut = last + 1 if piece.piece == "narrowing" else (first + last + 1) // 2
        middle = strip.middle_m[cut]
        if piece.piece in ("straight", "trail"):
            cut = first + int(long_m[first : last + 1].argmax())
            middle = (strip.middle_m[cut] + strip.middle_m[cut + 1]) / 2
        across = strip.left_m[cut] - strip.right_m[cut]
        told.append(
            {
                "number": index + 1,
                "name": piece.name or f"{piece.piece} at {strip.station_m[first]:.0f} m",
                "kind": piece.piece,
                "width": here,
                "middle": _points(middle[None, :]),
                "left": _points(across[None, :] / np.hypot(*across)),
                "from": round(max(0.0, float(strip.station_m[first])), 1),
            }
        )
        width = width if piece.piece == "gap" else here
    return told


def places_of(day: Scenario) -> list[dict[str, Any]]:
    """Where does the coach say that people of ours stand?"""
    found = []
    for place in day.places:
        at_m = station_of(place, day.strip)
        if place.crowd and 0 <= at_m <= day.strip.length_m:
            name = place.name or (place.at if isinstance(place.at, str) else "our people")
            found.append(_mark(day, Mark(name, at_m)) | {"side": place.side or ""})
    return found


def ground_of(day: Scenario) -> dict[str, Any]:
    """The course from above: both edges, what stands on them, every turn, narrowing and mark."""
    strip = day.strip
    return {
        "left": _points(strip.left_m),
        "right": _points(strip.right_m),
        "left_edge": strip.left_edge.tolist(),
        "right_edge": strip.right_edge.tolist(),
        "station": np.round(strip.station_m, 1).tolist(),
        "finish": strip.finish_cut,
        "length": round(strip.length_m, 1),
        "first_straight": bool(day.course.pieces and day.course.pieces[0].piece == "straight"),
        "obstacles": np.round(strip.obstacles_m, 2).tolist(),
        "gates": [
            {
                "name": gate.name,
                "kind": gate.kind,
                "lap": gate.lap,
                "station": round(float(strip.station_m[gate.first_cut]), 1),
                "cuts": [gate.first_cut, gate.last_cut],
                "inside": "" if gate.inside == Side.NONE else gate.inside.name.lower(),
                "width": round(float(strip.width_m[gate.first_cut : gate.last_cut + 1].min()), 2),
            }
            for gate in strip.gates
        ],
        "hills": [
            {
                "from": round(hill.from_m, 1),
                "to": round(hill.to_m, 1),
                "climb": round(hill.climb_m, 2),
                "cuts": [hill.first_cut, hill.last_cut],
            }
            for hill in hills(strip)
        ],
        "landmarks": [_mark(day, mark) for mark in strip.landmarks],
        "checkpoints": [_mark(day, mark) for mark in strip.checkpoints],
    }


def ours_of(day: Scenario) -> dict[str, Any] | None:
    """Our team and what it is told; None where no team is ours."""
    team = next((one for one in day.teams if one.ours), None)
    if team is None:
        return None
    plan = team.plan or day.field.plan
    return {
        "name": team.name,
        "box": team.box,
        "runners": team.runners,
        "front": list(team.front),
        "opening": team.opening,
        "usual": day.field.opening,
        "stake": plan.settle_m or day.field.opening_for_m,
        "line": team.line,
        "lines": {gate: _told_line(line) for gate, line in team.lines.items()},
        "plan": {
            key: getattr(plan, f"{key}_m")
            for key in ("sit", "move", "kick")
            if getattr(plan, f"{key}_m") is not None
        },
        "people": [
            {
                "name": person.name,
                "time": person.time_s,
                "guessed": person.time_guessed,
                "opening": person.opening,
            }
            for person in team.people
        ],
    }


def _told_line(line: object) -> str:
    if isinstance(line, float):
        return f"{line:g} m off the inside"
    return ", ".join(map(str, line)) if isinstance(line, tuple) else str(line)


def books_of(day: Scenario) -> list[list[str]]:
    """What the course and line measure, beside what books and guidance ask: a head, then rows."""
    return guidance_rows(inspect(day, measure_ground(day)), day.units)


def _mark(day: Scenario, mark: Mark) -> dict[str, Any]:
    x, y = day.strip.point_at(mark.station_m)
    at_m = round(mark.station_m, 1)
    return {"name": mark.name, "station": at_m, "x": round(x, 2), "y": round(y, 2)}


def _points(points_m: NDArray[Any]) -> list[float]:
    """x, y, x, y ... to the centimetre."""
    flat: list[float] = np.round(np.asarray(points_m, dtype=float), 2).ravel().tolist()
    return flat
