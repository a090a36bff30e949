"""Do the pieces of a course, its laps and its marks agree with themselves and with the line?"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from simrun.base.errors import Problem, nearest_word
from simrun.scenario.tables.schema import CourseTable, MarkTable, PieceTable, StartTable
from simrun.scenario.tables.values import same_name, shown_key

LONGEST_COURSE_M = 60000.0
SHORTEST_WITH_WIDTH_M = 2.0
"""A piece that changes the width does so in its first metre (and a gap back in the last)."""

GROUND_KINDS = ("straight", "narrowing", "turn", "gap", "trail")
ONLY_FOR = {
    "side": ("turn", "narrowing"),
    "angle": ("turn",),
    "inside_radius": ("turn",),
    "around": ("turn",),
    "length": ("straight", "narrowing", "gap", "trail"),
    "from": ("again",),
    "to": ("again",),
    **dict.fromkeys(("width", "left", "right", "surface", "climb"), GROUND_KINDS),
}
NEEDED_BY = {
    "straight": ("length",),
    "narrowing": ("length", "width"),
    "turn": ("side", "angle"),
    "gap": ("length", "width"),
    "trail": ("length",),
    "again": ("from", "to"),
}
MEANING = {
    "length": "how long it is",
    "width": "how wide it is at its end",
    "side": "the way it turns, left or right",
    "angle": "by how many degrees it turns",
    "from": "the first piece that is run again",
    "to": "the last piece that is run again",
}


def course_problems(course: CourseTable) -> Iterator[Problem]:
    """Either a drawing or pieces, and everything that is written belongs to it."""
    if course.drawn and course.pieces:
        yield Problem("course.drawn", f"{course.drawn!r}", "either a drawing or pieces, not both")
    elif course.drawn:
        if course.laps:
            yield Problem("course.laps", "laps with a drawing", "laps are for pieces only")
        yield from _drawn_width_problems(course)
    elif not course.pieces:
        allowed = "drawn = a GeoJSON file, or at least one [[course.pieces]]"
        yield Problem("course", "neither a drawing nor pieces", allowed)
    else:
        yield from _piece_list_problems(course)
    yield from _mark_problems(course.checkpoints, "course.checkpoints")
    yield from _mark_problems(course.landmarks, "course.landmarks")


def _drawn_width_problems(course: CourseTable) -> Iterator[Problem]:
    if course.widths and course.width_m is not None:
        allowed = "one width for all of it, or [[course.widths]], not both"
        yield Problem("course.width", "written beside [[course.widths]]", allowed)
    for number, (one, other) in enumerate(pairwise(course.widths), start=2):
        if not other.at_m > one.at_m:
            found = f"{other.at_m:g} m after {one.at_m:g} m"
            yield Problem(f"course.widths.{number}.at", found, "in the order of the race")


def _piece_list_problems(course: CourseTable) -> Iterator[Problem]:
    written = (course.edges, course.width_m, course.widths or None)
    for key, value in zip(("edges", "width", "widths"), written, strict=True):
        if value is not None:
            allowed = "only for a drawing; a piece says its own"
            yield Problem(f"course.{key}", "written beside pieces", allowed)
    keys = piece_keys(course.pieces)
    for piece, key in zip(course.pieces, keys, strict=True):
        yield from _piece_problems(piece, key)
    yield from _width_problems(course.pieces, keys)
    yield from _name_problems([piece.name for piece in course.pieces], "course.pieces")
    if course.laps:
        yield from _stretch_problems(course, "course.laps", course.laps.first, course.laps.last)
    for piece, key in zip(course.pieces, keys, strict=True):
        if piece.piece == "again" and piece.first and piece.last:
            yield from _stretch_problems(course, key, piece.first, piece.last)
    yield from _whole_length_problems(course)


def piece_keys(pieces: Sequence[PieceTable]) -> list[str]:
    """What is every piece called in a Problem's key?"""
    names = [piece.name for piece in pieces]
    return [
        f"course.pieces.{shown_key(name) if name and names.count(name) == 1 else index + 1}"
        for index, name in enumerate(names)
    ]


def _piece_problems(piece: PieceTable, key: str) -> Iterator[Problem]:
    written = {field.alias or name for name, field in PieceTable.model_fields.items()}
    values = piece.model_dump(by_alias=True, exclude_unset=True)
    for name in sorted(written & ONLY_FOR.keys() & values.keys()):
        if piece.piece not in ONLY_FOR[name]:
            allowed = "only for: " + ", ".join(ONLY_FOR[name])
            what = "piece again" if piece.piece == "again" else piece.piece
            yield Problem(f"{key}.{name}", f"written for a {what}", allowed)
    for name in NEEDED_BY[piece.piece]:
        if values.get(name) is None:
            yield Problem(f"{key}.{name}", "missing", f"needed: {MEANING[name]}")
    if piece.piece == "turn" and piece.side == "both":
        yield Problem(f"{key}.side", "'both'", "a turn goes left or right")


def _width_problems(pieces: Sequence[PieceTable], keys: list[str]) -> Iterator[Problem]:
    first = pieces[0]
    if first.piece != "straight":
        allowed = "the line needs a straight first, however short"
        yield Problem(f"{keys[0]}.piece", f"{first.piece!r} as the first piece", allowed)
    elif first.width_m is None:
        yield Problem(f"{keys[0]}.width", "missing", "needed: how wide the first piece is")
    width = first.width_m
    for piece, key in zip(pieces[1:], keys[1:], strict=True):
        changes = piece.width_m is not None and piece.width_m != width
        short = piece.length_m is not None and piece.length_m < SHORTEST_WITH_WIDTH_M
        if changes and short and piece.piece in ("straight", "trail"):
            allowed = f"at least {SHORTEST_WITH_WIDTH_M:g} m for a piece that changes the width"
            yield Problem(f"{key}.length", f"{piece.length_m:g} m", allowed)
        if piece.piece != "gap":
            width = piece.width_m or width


def _name_problems(names: Sequence[str], key: str) -> Iterator[Problem]:
    same = [same_name(name) for name in names if name]
    for name in dict.fromkeys(name for name in same if same.count(name) > 1):
        yield Problem(f"{key}.name", f"{name!r} twice", "every name once")


def _mark_problems(marks: Sequence[MarkTable], key: str) -> Iterator[Problem]:
    yield from _name_problems([mark.name for mark in marks], key)


def _stretch_problems(course: CourseTable, key: str, first: str, last: str) -> Iterator[Problem]:
    """What is run again are the pieces from one that there is to a later one, or that one alone."""
    names = [piece.name for piece in course.pieces if piece.name and piece.piece != "again"]
    for word, name in (("from", first), ("to", last)):
        if name not in names:
            allowed = "the name of a piece"
            yield Problem(f"{key}.{word}", f"{name!r}", allowed, nearest_word(name, names))
    if first in names and last in names and names.index(last) < names.index(first):
        allowed = f"a piece that comes after {first!r}, or the same"
        yield Problem(f"{key}.to", f"{last!r}", allowed)


def _whole_length_problems(course: CourseTable) -> Iterator[Problem]:
    whole = sum(piece.length_m or 0 for piece in course.pieces)
    whole += sum(piece.length_m or 0 for piece in _run_again(course))
    if whole > LONGEST_COURSE_M:
        allowed = f"at most {LONGEST_COURSE_M / 1000:g} km, all laps together"
        yield Problem("course.pieces", f"{whole / 1000:.1f} km of course", allowed)


def _run_again(course: CourseTable) -> list[PieceTable]:
    """The pieces of the laps after the first and of what is run again, as often as they are."""
    laps = course.laps
    lap = _between(course, laps.first, laps.last) if laps else []
    found = lap * (laps.times - 1) if laps else []
    for piece in course.pieces:
        found += _between(course, piece.first, piece.last) if piece.piece == "again" else []
    return found


def _between(course: CourseTable, first: str | None, last: str | None) -> list[PieceTable]:
    """The pieces from one to another, both included; none where a name is unknown."""
    names = [piece.name for piece in course.pieces]
    if first not in names or last not in names:
        return []
    return list(course.pieces[names.index(first) : names.index(last) + 1])


def line_on_ground_problems(start: StartTable, course: CourseTable) -> Iterator[Problem]:
    """The whole line must lie on the first piece."""
    if course.drawn or not course.pieces or course.pieces[0].piece != "straight":
        return
    first, key = course.pieces[0], piece_keys(course.pieces)[0]
    if first.width_m is not None and start.width_m > first.width_m + 1e-9:
        allowed = f"at most {first.width_m:g} m, the width of the first piece ({key})"
        yield Problem("start.width", f"{start.width_m:g} m", allowed)
    elif first.width_m is not None and _end_m(start) > first.width_m / 2 + 1e-9:
        yield beyond_edge(start, first.width_m)
    bow = arc_bow_m(start)
    if first.length_m is not None and bow >= first.length_m:
        allowed = f"more than {bow:.1f} m: the ends of the arc lie that far ahead"
        yield Problem(f"{key}.length", f"{first.length_m:g} m", allowed)


def _end_m(start: StartTable) -> float:
    """How far from the middle of the ground is the further end of the line?"""
    return start.width_m / 2 + abs(start.sideways_m)


def beyond_edge(start: StartTable, ground_m: float) -> Problem:
    """A line that was moved further than the ground at the start, so wide, has room for."""
    room = max(0.0, (ground_m - start.width_m) / 2)
    allowed = (
        f"at most {room:.1f} m to either side: the course is {ground_m:.1f} m wide at its start, the line "
        f"{start.width_m:.1f} m"
    )
    return Problem("start.sideways", f"{start.sideways_m:g} m", allowed)


def arc_bow_m(start: StartTable) -> float:
    """How far do the ends of an arc lie ahead of its middle? D - sqrt(D^2 - (W/2)^2)."""
    half = start.width_m / 2
    if start.aim_m is None or start.aim_m <= half:
        return 0.0
    return start.aim_m - math.sqrt(start.aim_m**2 - half**2)
