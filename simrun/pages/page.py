"""What stands on a page? One sentence, one figure, one short table; the rest folded; notes at its foot."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace


@dataclass(frozen=True)
class Moment:
    """A second of a replay that lies beside the page: the file's name, the second, and the link's words."""

    file: str
    second_s: float
    words: str

    @property
    def address(self) -> str:
        """Where the link leads: the replay opens at that second."""
        return f"{self.file}#at={self.second_s:.1f}"


@dataclass(frozen=True)
class Figure:
    """A picture inside the page: PNG, and what it shows for who cannot see it."""

    png: bytes
    alt: str
    caption: str = ""
    moments: tuple[Moment, ...] = ()

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


@dataclass(frozen=True)
class Page:
    """A whole page. sentence: the answer, its headline. first: what is seen at once; folded: the rest.

    notes: what has nothing to say is left out. caution: the standing caution, on every page for a meet
    director. one_sheet: made to be printed on one.
    """

    title: str
    sentence: str
    first: Part
    about: str = ""
    folded: tuple[Part, ...] = ()
    notes: tuple[str, ...] = ()
    caution: str = ""
    one_sheet: bool = False

    def noting(self, text: str) -> Page:
        """The same page with this line before its other notes; empty: the page as it is."""
        return replace(self, notes=(text, *self.notes)) if text else self
