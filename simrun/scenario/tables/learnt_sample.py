"""What was learnt of the inputs? Draws of all of them at once, out of a small file beside the scenario."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.base.list_rows import rows_of, shortened
from simrun.scenario.tables.values import LONGEST_NAME
from simrun.sources.assumed import assumed_inputs

Array = NDArray[np.float64]

MOST_DRAWS = 1000


@dataclass(frozen=True)
class Learnt:
    """keys: which inputs, K of them. draws: M draws of them, each a tuple of K in units of the figures.

    A row holds together: where one input is high because another is low, every row says so.
    """

    file: str
    keys: tuple[str, ...]
    draws: tuple[tuple[float, ...], ...]

    @cached_property
    def table(self) -> Array:
        """The draws, (M, K)."""
        return np.array(self.draws, dtype=float)

    def draw(self, number: int) -> dict[str, float]:
        """Draw `number`, from 0; after the last comes the first again."""
        return dict(zip(self.keys, self.draws[number % len(self.draws)], strict=True))

    @cached_property
    def middle(self) -> dict[str, float]:
        """The median of every input."""
        return dict(zip(self.keys, map(float, np.median(self.table, axis=0)), strict=True))

    @cached_property
    def ends(self) -> dict[str, tuple[float, float]]:
        """The lowest and the highest draw of every input."""
        low, high = self.table.min(axis=0), self.table.max(axis=0)
        return {key: (float(low[i]), float(high[i])) for i, key in enumerate(self.keys)}

    def value_at(self, key: str, share: float) -> float:
        """The value that this share of the draws of one input lies below."""
        return float(np.quantile(self.table[:, self.keys.index(key)], share))


def learnt_text(keys: Sequence[str], draws: Array) -> str:
    """The draws as the text of a file: keys in the first line, then a line a draw."""
    lines = [",".join(keys), *(",".join(f"{value:.6g}" for value in row) for row in draws)]
    return "\n".join(lines) + "\n"


def parse_learnt(text: str, file: str, told: Mapping[str, float]) -> Learnt:
    """The draws in a file's text, without the inputs that are told. Raises BadInput.

    Check: tests/unit/scenario/test_learnt_inputs.py.
    """
    rows = list(rows_of(text, file, assumed_inputs()))
    if not 2 <= len(rows) <= MOST_DRAWS + 1:
        found, allowed = (
            f"{max(0, len(rows) - 1)} draws",
            f"1 to {MOST_DRAWS}, as learn writes them",
        )
        raise BadInput(Problem("inputs.learnt", found, allowed, file=file))
    keys = rows[0][1]
    problems = list(_wrong_keys(keys, file))
    if problems:
        raise BadInput(problems)
    kept = [at for at, key in enumerate(keys) if key not in told]
    draws = tuple(_draw(line, keys, cells, kept, file) for line, cells in rows[1:])
    return Learnt(file, tuple(keys[at] for at in kept), draws)


def _wrong_keys(keys: Sequence[str], file: str) -> list[Problem]:
    known = list(assumed_inputs())
    wrong = [key for key in keys if key not in known or keys.count(key) > 1]
    allowed = "every column an assumed figure that decides a race, once"
    return [
        Problem(
            "line 1", repr(shortened(key)), allowed, nearest_word(key[:LONGEST_NAME], known), file
        )
        for key in wrong[:1]
    ]


def _draw(
    line: int, keys: Sequence[str], cells: Sequence[str], kept: Sequence[int], file: str
) -> tuple[float, ...]:
    if len(cells) != len(keys):
        found, allowed = f"{len(cells)} cells", f"{len(keys)}, one a figure"
        raise BadInput(Problem(f"line {line}", found, allowed, file=file))
    return tuple(_number(line, keys[at], cells[at], file) for at in kept)


def _number(line: int, key: str, cell: str, file: str) -> float:
    figure = assumed_inputs()[key]
    try:
        value = float(cell)
    except ValueError:
        value = float("nan")
    if not figure.holds(value):
        allowed = f"a number from {figure.low:g} to {figure.high:g}"
        raise BadInput(
            Problem(f"line {line}, column {key}", repr(shortened(cell)), allowed, file=file)
        )
    return value
