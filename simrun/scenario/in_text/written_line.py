"""Which keys of its file say where the line is and how its ground lies? As `toml_edit` changes them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from simrun.base.errors import BadInput, Problem
from simrun.scenario.in_text.toml_edit import Change, dotted, length_like
from simrun.scenario.scenario import Scenario

STRAIGHT_BELOW_M = 0.05
"""A line that bows by less is drawn straight."""

LARGEST_M = 5000.0


@dataclass(frozen=True)
class LineAsked:
    """What is to be otherwise; None stays as it is. bow_m: how far the ends lie ahead of the middle.

    sideways_m: how far the line stands to the left. straight_m: the first piece's length. throat: a piece's
    number from 1 and its width. waves, wave_gap_s: how many guns, and how far apart.
    """

    width_m: float | None = None
    bow_m: float | None = None
    tilt_deg: float | None = None
    sideways_m: float | None = None
    boxes: int | None = None
    box_width_m: float | None = None
    front_row: int | None = None
    straight_m: float | None = None
    throat: tuple[int, float] | None = None
    waves: int | None = None
    wave_gap_s: float | None = None


def line_changes(day: Scenario, asked: LineAsked) -> list[Change]:
    """The keys that say so, each in the manner in which it was written.

    A line that outgrows the first piece widens it, a longer straight moves the marks behind it on, an arc
    keeps its point, one that was solved for a place is written in figures once it is turned or bowed; nothing
    else is touched. Check: tests/unit/scenario/test_toml_edit.py, tests/unit/scenario/test_aim.py.
    """
    start, written = day.start, day.document["start"]
    changes: list[Change] = []

    def length(key: str, metres: float) -> None:
        changes.append((("start", key), length_like(written.get(key), metres, day.units)))

    if asked.width_m is not None:
        length("width", asked.width_m)
        changes += _wider_ground(day, asked.width_m)
    if asked.box_width_m is not None:
        length("box_width", asked.box_width_m)
    for key, count in (("boxes", asked.boxes), ("front_row", asked.front_row)):
        if count is not None:
            changes.append((("start", key), int(count)))
    if start.aim_at and (asked.tilt_deg is not None or asked.bow_m is not None):
        changes += _line_told(day)
    if asked.tilt_deg is not None:
        changes.append((("start", "tilt"), round(asked.tilt_deg, 2)))
    if asked.sideways_m is not None:
        length("sideways", asked.sideways_m)
    if asked.bow_m is not None:
        changes += _bowed(day, asked.bow_m, asked.width_m or start.width_m)
    if asked.straight_m is not None:
        changes += _longer(day, asked.straight_m)
    if asked.throat is not None:
        changes += width_changes(day, *asked.throat)
    return changes + _in_waves(asked)


def with_line(day: Scenario, asked: LineAsked) -> Scenario:
    """The race day changed so, checked anew; nothing is written. Raises BadInput."""
    return day.changed(dotted(line_changes(day, asked)))


def width_changes(day: Scenario, number: int, width_m: float) -> list[Change]:
    """The keys that say how wide the piece of this number, from 1, is, and no other. Raises BadInput.

    One that had no width of its own was as wide as the one before, and so was the next: that stays as it was.
    """
    changes = [_piece_length(day, number, "width", width_m)]
    pieces = day.course.pieces
    behind = pieces[number] if number < len(pieces) else None
    if pieces[number - 1].width_m is None and behind and behind.piece != "again":
        before = [
            piece.width_m for piece in pieces[:number] if piece.width_m and piece.piece != "gap"
        ]
        if behind.width_m is None and before:
            changes.append(_piece_length(day, number + 1, "width", before[-1]))
    return changes


def _in_waves(asked: LineAsked) -> list[Change]:
    """One wave needs no gap, and no word of who goes in which."""
    changes: list[Change] = []
    if asked.waves is not None:
        changes.append((("start", "waves"), None if asked.waves == 1 else int(asked.waves)))
        if asked.waves == 1:
            changes += [(("start", key), None) for key in ("wave_gap", "waves_by")]
    if asked.wave_gap_s is not None:
        changes.append((("start", "wave_gap"), length_like(0, asked.wave_gap_s, "metric")))
    return changes


def _wider_ground(day: Scenario, width_m: float) -> list[Change]:
    pieces = day.course.pieces
    if not pieces or pieces[0].width_m is None or width_m <= pieces[0].width_m:
        return []
    return [_piece_length(day, 1, "width", width_m)]


def _bowed(day: Scenario, bow: float, width_m: float) -> list[Change]:
    """A straight line has no aim, an arc of this bow the one point that is as far from all of it.

    Formula: D = (b^2 + (W/2)^2) / (2 b), the radius of an arc of bow b over a width W.
    """
    written = day.document["start"]
    if bow < STRAIGHT_BELOW_M:
        told = (
            ("shape", "aim") if day.start.aim_at else [k for k in ("shape", "aim") if k in written]
        )
        return [(("start", key), None) for key in told]
    half = width_m / 2
    if bow >= half:
        found, allowed = f"a bow of {bow:g} m", f"less than half the line, {half:g} m"
        raise BadInput(Problem("start.aim", found, allowed))
    aim = min(LARGEST_M, (bow**2 + half**2) / (2 * bow))
    shape: list[Change] = [] if day.start.shape == "arc" else [(("start", "shape"), "arc")]
    return [*shape, (("start", "aim"), length_like(written.get("aim"), aim, day.units))]


def _line_told(day: Scenario) -> list[Change]:
    """A line that was solved for a place, in figures: from now on it is drawn by hand."""
    spec = day.start_line.spec
    aim = length_like(None, spec.aim_m or 0.0, day.units)
    return [
        (("start", "shape"), "arc"),
        (("start", "aim"), aim),
        (("start", "tilt"), round(spec.tilt_deg, 2)),
    ]


def _longer(day: Scenario, straight_m: float) -> list[Change]:
    first = day.course.pieces[0] if day.course.pieces else None
    if first is None or first.piece != "straight" or first.length_m is None:
        raise BadInput(
            Problem("course.pieces", "no straight to lengthen", "a course that begins with one")
        )
    more = straight_m - first.length_m
    changes = [_piece_length(day, 1, "length", straight_m)]
    if day.start.aim_m is not None:
        aim = length_like(day.document["start"]["aim"], day.start.aim_m + more, day.units)
        changes.append((("start", "aim"), aim))
    return changes + _marks_moved(day, first.length_m, more)


def _marks_moved(day: Scenario, beyond_m: float, more_m: float) -> list[Change]:
    """Every mark behind the straight goes with its ground."""
    course: Mapping[str, Any] = day.document["course"]
    read = {"checkpoints": day.course.checkpoints, "landmarks": day.course.landmarks}
    return [
        (
            ("course", kind, number, "at"),
            length_like(course[kind][number - 1]["at"], mark.at_m + more_m, day.units),
        )
        for kind, marks in read.items()
        for number, mark in enumerate(marks, start=1)
        if mark.at_m >= beyond_m and not math.isclose(more_m, 0.0)
    ]


def _piece_length(day: Scenario, number: int, key: str, metres: float) -> Change:
    pieces = day.document["course"].get("pieces", [])
    if not 0 < number <= len(pieces):
        raise BadInput(Problem("course.pieces", f"no piece {number}", "a piece of the course"))
    old = pieces[number - 1].get(key)
    return (("course", "pieces", number, key), length_like(old, metres, day.units))
