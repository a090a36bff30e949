"""The team's page on paper: one sheet of A4 or Letter as PDF."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Any

from simrun.pictures.charts.chart import chart_ink
from simrun.pictures.charts.sheet_paper import PAPERS, Paper, plain

MARGIN_IN = 0.55
LINE_IN = 0.19
LETTER_IN = 0.0735
"""The mean width of a letter of the text's size."""

MOST_IN_CELL = 13


@dataclass(frozen=True)
class TeamCard:
    """One team's page as text. runners: rows of cells under `head`; lines, moves, outcome: sentences."""

    title: str
    box: str
    head: tuple[str, ...]
    runners: tuple[tuple[str, ...], ...]
    lines: tuple[str, ...]
    moves: tuple[str, ...]
    outcome: tuple[str, ...]
    left_out: str


def team_pdf(card: TeamCard, paper: str) -> bytes:
    """The card on one sheet of this paper, as the bytes of a PDF; the same card gives the same bytes."""
    sheet = Paper(paper)
    _Sheet(sheet.figure, PAPERS[paper]).write(card)
    return sheet.pdf()


class _Sheet:
    """A sheet that is written from top to bottom."""

    def __init__(self, figure: Any, paper: tuple[float, float]) -> None:
        self.figure, (self.width, self.height) = figure, paper
        self.y_in = self.height - MARGIN_IN

    def write(self, card: TeamCard) -> None:
        self._line(card.title, 15, weight="bold", step=1.9)
        self._line(card.box, 9.5, step=1.6)
        self._table([card.head, *card.runners])
        for head, said in (
            ("Line", card.lines),
            ("Where", card.moves),
            ("What to expect", card.outcome),
        ):
            self.y_in -= LINE_IN
            self._line(head, 11, weight="bold", step=1.3)
            for sentence in said:
                self._wrapped(sentence, "•  ")
        self.y_in -= LINE_IN
        self._wrapped(card.left_out, "", colour="muted")

    def _line(self, text: str, size: float, weight: str = "normal", step: float = 1.0) -> None:
        self._at(MARGIN_IN, text, size, weight=weight)
        self.y_in -= step * LINE_IN

    def _wrapped(self, text: str, bullet: str, colour: str = "text") -> None:
        letters = int((self.width - 2 * MARGIN_IN) / LETTER_IN)
        for i, line in enumerate(textwrap.wrap(text, letters) or [""]):
            self._at(MARGIN_IN, bullet if i == 0 else "", 9.5, colour=colour)
            self._at(MARGIN_IN + (0.18 if bullet else 0.0), line, 9.5, colour=colour)
            self.y_in -= LINE_IN

    def _table(self, rows: list[tuple[str, ...]]) -> None:
        """Columns as wide as their longest word; cells wrap."""
        wrapped = [[textwrap.wrap(cell, MOST_IN_CELL) or [""] for cell in row] for row in rows]
        columns = range(len(rows[0]))
        letters = [max(len(line) for row in wrapped for line in row[c]) + 1.5 for c in columns]
        scale = (self.width - 2 * MARGIN_IN) / sum(letters)
        left = [MARGIN_IN + scale * sum(letters[:c]) for c in columns]
        size = min(9.0, 118 * scale)
        for number, row in enumerate(wrapped):
            self._row(row, left, size, "bold" if number == 0 else "normal")

    def _row(self, row: list[list[str]], left: list[float], size: float, weight: str) -> None:
        deep = max(len(cell) for cell in row)
        for x, cell in zip(left, row, strict=True):
            for i, line in enumerate(cell):
                self._at(x, line, size, weight=weight, down=i * 0.15)
        self.y_in -= 0.15 * deep + 0.06
        self._rule()

    def _rule(self) -> None:
        from matplotlib.lines import Line2D

        ends = [MARGIN_IN / self.width, 1 - MARGIN_IN / self.width]
        y = (self.y_in + 0.13) / self.height
        self.figure.add_artist(Line2D(ends, [y, y], color=chart_ink("rule"), linewidth=0.6))

    def _at(
        self,
        x_in: float,
        text: str,
        size: float,
        weight: str = "normal",
        colour: str = "text",
        down: float = 0.0,
    ) -> None:
        where = (x_in / self.width, (self.y_in - down) / self.height)
        self.figure.text(*where, plain(text), fontsize=size, weight=weight, color=chart_ink(colour))
