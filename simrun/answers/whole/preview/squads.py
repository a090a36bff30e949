"""Several squads on one course: every place once, with what each of them is told there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from simrun.answers.sheet.result import SheetResult
from simrun.answers.sheet.sheet_marks import AT_M
from simrun.answers.sheet.sheet_records import SheetFigures
from simrun.answers.whole.preview.chapters import Chapter
from simrun.answers.whole.preview.sides import There
from simrun.answers.whole.preview.to_go import ToGo
from simrun.pages.walk import Said


@dataclass(frozen=True)
class Squad:
    """One team's walk: its sheet, its chapters, what is left to go; the sides, by the metres of a chapter."""

    sheet: SheetResult
    chapters: tuple[Chapter, ...]
    to_go: tuple[ToGo, ...]
    sides: Mapping[float, There]

    @property
    def figures(self) -> SheetFigures:
        """Everything that its sheet tells."""
        return self.sheet.found

    @property
    def team(self) -> str:
        """Who they are."""
        return self.figures.stand.team


Row = tuple[Chapter | None, ...]
"""One place: the chapter of every squad there, None where a squad has none."""


def side_by_side(squads: Sequence[Squad]) -> tuple[Row, ...]:
    """Every place of any squad once, in order; two places nearer than a mark's own width are one.

    Check: tests/journeys/test_preview.py.
    """
    rows: list[list[Chapter | None]] = []
    for number, squad in enumerate(squads):
        for chapter in squad.chapters:
            row = next((row for row in rows if row[number] is None and _is_at(row, chapter)), None)
            if row is None:
                row = [None] * len(squads)
                rows.append(row)
            row[number] = chapter
    return tuple(tuple(row) for row in sorted(rows, key=lambda row: shared(row).mark.at_m))


def shared(row: Sequence[Chapter | None]) -> Chapter:
    """What is the same for all of them: the place as the first squad there has it."""
    return next(chapter for chapter in row if chapter is not None)


def _is_at(row: Sequence[Chapter | None], chapter: Chapter) -> bool:
    return abs(shared(row).mark.at_m - chapter.mark.at_m) <= AT_M


def told_apart(squads: Sequence[Squad], said: Sequence[tuple[Said, ...]]) -> tuple[Said, ...]:
    """What every squad is told, sentence by sentence: once where all are told it, else with whose it is."""
    alike = [one for one in said[0] if all(one.text in _texts(other) for other in said[1:])]
    kept = list(alike)
    for squad, sentences in zip(squads, said, strict=True):
        own = [one for one in sentences if one.text not in _texts(alike)]
        kept += [replace(one, text=f"{squad.team}: {one.text}") for one in own]
    return tuple(kept)


def _texts(said: Sequence[Said]) -> set[str]:
    return {one.text for one in said}
