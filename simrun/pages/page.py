"""What stands on a page? One sentence, one figure, one short table; the rest folded; notes at its foot."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace


@dataclass(frozen=True)
class Moment:
    """A moment of a replay that lies beside the page: the file's name, the second, and the link's words.

    along_m: instead of a second the place, metres along the course, to which those followed come then.
    """

    file: str
    second_s: float
    words: str
    along_m: float | None = None

    @property
    def address(self) -> str:
        """Where the link leads: the replay opens at that moment."""
        if self.along_m is not None:
            return f"{self.file}#along={self.along_m:.0f}"
        return f"{self.file}#at={self.second_s:.1f}"


@dataclass(frozen=True)
class Figure:
    """A picture inside the page: PNG, and what it shows for who cannot see it.

    race, places: moments of a replay of this race day, to which it leads where one lies beside the page.
    """

    png: bytes
    alt: str
    caption: str = ""
    moments: tuple[Moment, ...] = ()
    race: str = ""
    places: tuple[Moment, ...] = ()

    def beside(self, race: str) -> Figure:
        """The same where a replay of this race lies beside the page; empty, there is none."""
        if not self.places or self.moments or race != self.race:
            return self
        return replace(self, moments=self.places)

    @property
    def base64(self) -> str:
        """The picture as text."""
        return base64.b64encode(self.png).decode()


@dataclass(frozen=True)
class Table:
    """Rows of text under a head. left: so many columns are words; marks: a row's class by its number."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    caption: str = ""
    left: int = 1
    marks: Mapping[int, str] = field(default_factory=dict)

    def mark(self, row: int) -> str:
        """How does this row stand out? "ours", "sit", "move", "missed", or not at all."""
        return self.marks.get(row, "")


def table_of(
    rows: Sequence[Sequence[str]],
    caption: str = "",
    *,
    left: int = 1,
    marks: Mapping[int, str] | None = None,
) -> Table:
    """A table of rows of which the first is the head."""
    head, *body = (tuple(row) for row in rows)
    return Table(head, tuple(body), caption, left, marks or {})


def ours_marked(rows: Sequence[Sequence[str]], ours: str | None) -> dict[int, str]:
    """Which rows, below their head, begin with what is ours?"""
    return {i: "ours" for i, row in enumerate(rows[1:]) if ours is not None and row[0] == ours}


@dataclass(frozen=True)
class Part:
    """A piece of a page: paragraphs, then pictures, then tables, then smaller parts."""

    title: str = ""
    text: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()
    tables: tuple[Table, ...] = ()
    parts: tuple[Part, ...] = ()

    def beside(self, race: str) -> Part:
        """The same, every picture with its links where a replay of this race lies beside the page."""
        figures = tuple(figure.beside(race) for figure in self.figures)
        return replace(self, figures=figures, parts=tuple(part.beside(race) for part in self.parts))


@dataclass(frozen=True)
class Page:
    """A whole page. sentence: the answer, its headline. first: what is seen at once; folded: the rest.

    notes: what has nothing to say is left out. caution: the standing caution, on every page for a meet
    director. one_sheet: made to be printed on one; two_sheets: on two, in letters of 9 points.
    """

    title: str
    sentence: str
    first: Part
    about: str = ""
    folded: tuple[Part, ...] = ()
    notes: tuple[str, ...] = ()
    caution: str = ""
    one_sheet: bool = False
    two_sheets: bool = False

    def beside(self, race: str) -> Page:
        """The same, every picture with its links where a replay of this race lies beside the page."""
        folded = tuple(part.beside(race) for part in self.folded)
        return replace(self, first=self.first.beside(race), folded=folded)

    def noting(self, text: str) -> Page:
        """The same page with this line before its other notes; empty: the page as it is."""
        return replace(self, notes=(text, *self.notes)) if text else self
