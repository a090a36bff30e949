"""A race day is written down: its file is read again before anything is said."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from simrun.answers.kind import Asked, Progress, Result
from simrun.answers.new.grammar_words import page_of
from simrun.answers.new.result import Grammar, NewDay
from simrun.answers.new.words import HEAD
from simrun.answers.papers import Papers, papers_of, people_tables, refuse_overwriting, write_day
from simrun.base.errors import BadInput, Problem
from simrun.base.units import METRES_A_FOOT, METRES_A_YARD
from simrun.base.written_tables import table_text
from simrun.course.tracks.track_lines import plain_name

SLOWEST_M_S = 2.0
WIDE_SHARE = 0.5
"""Of the way to the narrowing so much is as wide as the line (assumed)."""

LEAST_BEHIND_M = 50.0


def answer(asked: Asked, progress: Progress) -> list[Result]:
    """What `simrun new` does."""
    if asked.grammar:
        return [Grammar(page_of(), asked.out)]
    target = _target(asked)
    if target.exists():
        allowed = "another file name, or move it away: nothing is overwritten"
        raise BadInput(Problem("file", "exists already", allowed, file=str(target)))
    papers = papers_of(asked)
    refuse_overwriting(target.parent, papers)
    files = {target.name: text_of(asked, papers).encode(), **papers.files}
    day, written = write_day(target.parent, files, target.name)
    return [NewDay(day, target.parent, tuple(written))]


def _target(asked: Asked) -> Path:
    """The file that was named, else one named as the race."""
    stem = "_".join(plain_name(asked.name).casefold().split()).replace("/", "-").replace("\\", "-")
    file = Path(asked.file or f"{stem or 'race'}.toml")
    if file.suffix != ".toml":
        found, allowed = repr(file.name), "a file whose name ends in .toml"
        raise BadInput(Problem("file", found, allowed, f"{file.stem}.toml"))
    return asked.out / file.name if asked.out else file


def text_of(asked: Asked, papers: Papers) -> str:
    """The scenario's text."""
    units = asked.units or "metric"
    _check(asked, papers)
    wide = WIDE_SHARE * asked.narrowing
    boxes = max(asked.boxes, papers.highest_box)
    pieces: list[dict[str, Any]] = [
        {"piece": "straight", "name": "start straight", "length": wide, "width": asked.start_width},
        {
            "piece": "narrowing",
            "name": "first narrowing",
            "length": asked.narrowing - wide,
            "width": asked.width,
        },
        {"piece": "straight", "name": "course", "length": asked.length - asked.narrowing},
    ]
    marks = [("first narrowing", asked.narrowing), ("finish", asked.length)]
    start = {
        "width": _length(asked.start_width, units),
        "boxes": boxes,
        "box_width": _length(asked.start_width / boxes, units, down=True),
        "front_row": asked.front_row,
        **papers.start,
    }
    minutes = min(120, max(2, round(asked.length / SLOWEST_M_S / 60)))
    parts = [
        HEAD,
        table_text("", {"name": asked.name, "invented": False, "units": units}),
        table_text("[clock]", {"limit": f"{minutes} min"}),
        table_text("[start]", start),
        *(table_text("[[course.pieces]]", _in_words(piece, units)) for piece in pieces),
        *(
            table_text(
                "[[course.checkpoints]]", {"name": name, "at": _length(at, units, down=True)}
            )
            for name, at in marks
        ),
        *people_tables(papers, asked.box),
    ]
    return "\n".join(parts)


def _check(asked: Asked, papers: Papers) -> None:
    if asked.length < asked.narrowing + LEAST_BEHIND_M:
        found = f"{asked.length:g} m, with the narrowing at {asked.narrowing:g} m"
        raise BadInput(Problem("--length", found, f"at least {LEAST_BEHIND_M:g} m more than that"))
    if asked.box and asked.box > asked.boxes and not papers.start:
        raise BadInput(Problem("--box", str(asked.box), f"one of the {asked.boxes} boxes"))


def _in_words(piece: dict[str, Any], units: str) -> dict[str, Any]:
    return {
        key: _length(value, units) if key in ("length", "width") else value
        for key, value in piece.items()
    }


def _length(metres: float, units: str, down: bool = False) -> str:
    """A length as it stands in a scenario, to a hundredth; down: never more than it is."""
    unit, each = ("m", 1.0)
    if units == "us":
        unit, each = ("ft", METRES_A_FOOT) if metres < 20 * METRES_A_FOOT else ("yd", METRES_A_YARD)
    hundredths = metres / each * 100
    return f"{(int(hundredths + 1e-6) if down else round(hundredths)) / 100:g} {unit}"
