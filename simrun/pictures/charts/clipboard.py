"""The sheet for the clipboard: one page of paper, a column for each of ours."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from simrun.pictures.charts.box_map import Standing, box_high_in, draw_box
from simrun.pictures.charts.sheet_paper import Line, Paper, clipped_to, text_width_in, wrapped

MARGIN_IN = 0.42
SIZES_PT, SMALL_SIZES_PT = (11.0, 10.5, 10.0, 9.5, 9.0), (8.5, 8.0)
"""The body of the text, the largest that fits; the small ones only where too much would be left out."""

MOST_LEFT_OUT = 3
SMALL_PT = 8.0
GAP_IN = 0.06
TEXT_SHARE, MOST_TEXT_IN = 0.40, 3.1
"""Of the width the words beside the columns take so much."""

BOX_SHARE = 0.46


@dataclass(frozen=True)
class SheetRow:
    """A row across the columns. name: bold, with `where` behind it; said: sentences below; cells: three
    short texts for each of ours, the first bold. weight: rows that weigh least are left out first.
    """

    name: str
    where: str
    said: tuple[str, ...]
    cells: tuple[tuple[str, ...], ...]
    weight: float = 0.0
    tone: str = ""


@dataclass(frozen=True)
class Clipboard:
    """Everything that is written on one sheet, as text. before, below: heads and sentences beside the box and
    below it. heads: over the two blocks of rows; rest: what is said where
    rows had to be left out."""

    title: str
    race: str
    sentence: str
    standing: Standing
    before: tuple[tuple[str, tuple[str, ...]], ...]
    below: tuple[tuple[str, tuple[str, ...]], ...]
    names: tuple[str, ...]
    heads: tuple[str, str]
    marks: tuple[SheetRow, ...]
    near: tuple[SheetRow, ...]
    foot: tuple[str, ...]
    rest: str


def clipboard_sheet(clip: Clipboard, paper: str) -> Paper:
    """The sheet on this paper: all of its rows as large as they fit, else without those that weigh least.

    Check: tests/journeys/test_sheet.py (no text over another, none outside the margins, none below 8 pt).
    """
    kept, left_out = clip, 0
    while True:
        sizes = SIZES_PT if left_out <= MOST_LEFT_OUT else SMALL_SIZES_PT
        for size in sizes:
            laid = _Laid(Paper(paper), size)
            laid.lay(kept)
            if laid.fits:
                return laid.drawn()
        left_out += 1
        begin_again = left_out == MOST_LEFT_OUT + 1
        kept = clip if begin_again else _without_least(kept, clip.rest)


def _without_least(clip: Clipboard, rest: str) -> Clipboard:
    """Without the row that weighs least; of the two last rows none goes."""
    if len(clip.marks) > 2:
        least = min(clip.marks, key=lambda row: row.weight)
        fewer = replace(clip, marks=tuple(row for row in clip.marks if row is not least))
    elif clip.near:
        fewer = replace(clip, near=clip.near[:-1])
    else:
        fewer = replace(clip, foot=clip.foot[:-1])
    return fewer if rest in fewer.foot else replace(fewer, foot=(rest, *fewer.foot))


class _Laid:
    """A sheet as it is laid out from top to bottom; nothing is drawn until it is known to fit."""

    def __init__(self, paper: Paper, size_pt: float) -> None:
        self.paper, self.size = paper, size_pt
        self.wide, self.high = paper.size_in
        self.top = MARGIN_IN
        self.ops: list[Callable[[], object]] = []

    @property
    def fits(self) -> bool:
        """Is everything above the lower margin?"""
        return self.top <= self.high - MARGIN_IN

    def drawn(self) -> Paper:
        """The sheet with everything on it."""
        for draw in self.ops:
            draw()
        return self.paper

    @property
    def inner(self) -> float:
        """The width between the margins."""
        return self.wide - 2 * MARGIN_IN

    def lay(self, clip: Clipboard) -> None:
        """Everything, one below the other."""
        self._title(clip)
        self._before(clip)
        self._block(clip.heads[0], clip.names, clip.marks)
        if clip.near:
            self._block(clip.heads[1], clip.names, clip.near)
        for text in clip.foot:
            self._text(text, MARGIN_IN, self.inner, Line("", SMALL_PT, ink="muted"))

    def _put(self, line: Line, left: float, top: float, align: str = "left") -> None:
        self.ops.append(lambda: self.paper.write(line, left, top, align))

    def _text(self, text: str, left: float, wide: float, like: Line) -> None:
        """A text in as many lines as it takes, from here down."""
        self.top = self._lines(text, left, (wide, self.top), like)

    def _lines(self, text: str, left: float, where: tuple[float, float], like: Line) -> float:
        wide, top = where
        for part in wrapped(text, wide, like.size_pt, like.bold):
            line = replace(like, text=part)
            self._put(line, left, top)
            top += line.high_in
        return top

    def _title(self, clip: Clipboard) -> None:
        title = Line(clip.title, self.size + 7, bold=True)
        self._put(title, MARGIN_IN, self.top)
        left = self.inner - title.wide_in - 0.2
        race = wrapped(clip.race, max(left, 1.0), self.size)
        if left > 1.0 and len(race) == 1:
            line = Line(race[0], self.size, ink="muted")
            self._put(line, self.wide - MARGIN_IN, self.top + 0.09, "right")
            self.top += title.high_in
        else:
            self.top += title.high_in
            self._text(clip.race, MARGIN_IN, self.inner, Line("", self.size, ink="muted"))
        self._text(clip.sentence, MARGIN_IN, self.inner, Line("", self.size + 1.5, bold=True))
        self.top += GAP_IN

    def _before(self, clip: Clipboard) -> None:
        """The box on the left; on the right what is to be known before the gun."""
        box_wide = BOX_SHARE * self.inner
        first = self.top
        right = MARGIN_IN + box_wide + 0.15
        for head, said in clip.before:
            self._text(head, right, self.inner - box_wide - 0.15, Line("", self.size, bold=True))
            for text in said:
                self._text(text, right, self.inner - box_wide - 0.15, Line("", self.size))
            self.top += GAP_IN / 2
        bottom = first + box_high_in(clip.standing)
        where = (MARGIN_IN, first, MARGIN_IN + box_wide, bottom)
        self.ops.append(lambda: draw_box(self.paper.axes(where), clip.standing, box_wide))
        self.top = max(self.top, bottom) + GAP_IN
        for head, said in clip.below:
            name = Line(head, self.size, bold=True)
            self._put(name, MARGIN_IN, self.top)
            left = name.wide_in + 0.12
            for text in said:
                self._text(text, MARGIN_IN + left, self.inner - left, Line("", self.size))
        self.top += GAP_IN

    def _block(self, head: str, names: Sequence[str], rows: Sequence[SheetRow]) -> None:
        """Names over their columns, and the rows."""
        text_wide = min(TEXT_SHARE * self.inner, MOST_TEXT_IN)
        each = (self.inner - text_wide) / max(len(names), 1)
        left = MARGIN_IN + text_wide
        begin = self.top
        self.top += 0.03
        size = fitting_pt(head, text_wide - 0.1, self.size)
        said = clipped_to(head, text_wide - 0.1, size, True)
        self._put(Line(said, size, bold=True), MARGIN_IN + 0.04, self.top)
        high = 0.0
        for k, name in enumerate(names):
            size = fitting_pt(name, each - 0.05, self.size)
            lines = wrapped(name, each - 0.05, size, True)
            for i, part in enumerate(lines):
                line = Line(part, size, bold=True, ink="ours")
                self._put(line, left + (k + 0.5) * each, self.top + i * line.high_in, "center")
            high = max(high, len(lines) * Line("", size).high_in)
        self.top += max(high, Line("", self.size).high_in) + 0.02
        band = (MARGIN_IN, begin, self.wide - MARGIN_IN, self.top)
        self.ops.insert(0, lambda: self.paper.shade(band, "course"))
        for row in rows:
            self._row(row, text_wide, each)
        self.top += GAP_IN

    def _row(self, row: SheetRow, text_wide: float, each: float) -> None:
        begin = self.top + 0.03
        name = Line(row.name, self.size, bold=True)
        where = Line(row.where, max(SMALL_PT, self.size - 1), ink="muted")
        wide = text_wide - 0.12
        top = begin
        if not row.where:
            top = self._lines(row.name, MARGIN_IN + 0.04, (wide, top), name)
        elif name.wide_in + where.wide_in + 0.08 <= wide:
            self._put(name, MARGIN_IN + 0.04, top)
            self._put(where, MARGIN_IN + 0.04 + name.wide_in + 0.08, top + 0.012)
            top += name.high_in
        else:
            top = self._lines(f"{row.name}, {row.where}", MARGIN_IN + 0.04, (wide, top), name)
        for text in row.said:
            top = self._lines(text, MARGIN_IN + 0.04, (wide, top), Line("", self.size))
        deep = top
        for k, cell in enumerate(row.cells):
            middle = MARGIN_IN + text_wide + (k + 0.5) * each
            deep = max(deep, self._cell(cell, middle, (begin, each - 0.05)))
        self.top = deep + 0.02
        rule = self.top
        self.ops.append(lambda: self.paper.rule(MARGIN_IN, self.wide - MARGIN_IN, rule))

    def _cell(self, cell: tuple[str, ...], middle: float, where: tuple[float, float]) -> float:
        """Up to three short texts below one another, the first bold."""
        top, wide = where
        inks = ("text", "muted", "ours")
        for i, text in enumerate(cell):
            size = fitting_pt(text, wide, self.size) if i == 0 else SMALL_PT
            for part in _broken(text, wide, size, bold=i == 0):
                line = Line(part, size, bold=i == 0, ink=inks[min(i, 2)])
                self._put(line, middle, top, "center")
                top += line.high_in
        return top


def _broken(text: str, wide: float, size: float, bold: bool) -> list[str]:
    """A range that is too wide is broken behind its dash, other texts between words."""
    dash = "\N{EN DASH}"
    if dash in text and " " not in text and text_width_in(text, size, bold) > wide:
        low, _, high = text.partition(dash)
        return [f"{low}{dash}", high]
    return wrapped(text, wide, size, bold)


def fitting_pt(text: str, wide: float, size: float) -> float:
    """The size at which this bold text fits, no smaller than the smallest."""
    while size > SMALL_PT and text_width_in(text, size, True) > wide:
        size -= 0.5
    return size
