"""The lines of a list as a spreadsheet saves it: where does its head stand, what parts its columns?"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection, Iterator

from simrun.base.errors import BadInput, Problem

DELIMITERS = ",;\t"
HEAD_WITHIN = 20
"""A title or a date may stand above the names of the columns, but no more lines than these."""

_SPACE_AFTER_QUOTE = re.compile(r'"[ ]+(?=[,;\t\r\n])')

Row = tuple[int, list[str]]


def rows_of(text: str, file: str, known: Collection[str] = ()) -> Iterator[Row]:
    """Every line from the head on that is not blank, with the number of the line it ends on.

    The head is the first line with two of the `known` names of columns, else the first that is not blank.
    Check: tests/unit/runners/test_lists_as_people_have_them.py.
    """
    lines = list(io.StringIO(_SPACE_AFTER_QUOTE.sub('"', text.removeprefix("\ufeff")), newline=""))
    above, delimiter = _head(lines, known)
    reader = csv.reader(lines[above:], delimiter=delimiter, skipinitialspace=True, strict=True)
    line = above
    try:
        for cells in reader:
            line = above + reader.line_num
            if any(cell.strip() for cell in cells):
                yield line, [" ".join(cell.split()) for cell in cells]
    except csv.Error as error:
        found = "cannot be read as columns"
        raise BadInput(
            Problem(f"line {line + 1}", found, "quotation marks in pairs", file=file)
        ) from error


def _head(lines: list[str], known: Collection[str]) -> tuple[int, str]:
    """How many lines stand above the head, and what parts its columns?"""
    filled = [(above, line) for above, line in enumerate(lines) if line.strip()]
    for above, line in filled[:HEAD_WITHIN]:
        for delimiter in DELIMITERS:
            names = {plain_name(cell.strip(' "\r\n')) for cell in line.split(delimiter)}
            if len(names & set(known)) > 1:
                return above, delimiter
    above, first = filled[0] if filled else (0, "")
    return above, max(DELIMITERS, key=first.count)


def plain_name(cell: str) -> str:
    """The name of a column without case, and without the signs that people put around it."""
    return " ".join(re.sub(r"[_.:*]", " ", cell).casefold().split())


def shortened(text: str) -> str:
    """A cell that fits into a message."""
    return text if len(text) <= 40 else text[:37] + "..."


def plainly(text: str) -> str:
    """A text on one line, whatever signs are in it."""
    return text if text.isprintable() else repr(text)[1:-1]
