"""Who takes which line, and how far off the inside edge?"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.runners.streams import whole_blocks
from simrun.sources import figure

Array = NDArray[np.float64]

CHOICES = ("inside", "middle", "outside")

_BLOCK = 64
"""Turns drawn at a time: another turn on the course leaves everybody's other choices alone."""


def inside_band_m(choice: str, width_m: ArrayLike) -> tuple[Array, Array]:
    """How near to and how far off the inside edge does the line `choice` lie? Two arrays.

    Both have the shape of width_m. inside: 0.30 m to a third of the width, at most 3 m; middle: the
    middle third; outside: the outer third, up to 0.30 m off the outside edge. Where the course is
    2 m wide or less the band shrinks toward the middle, and at 1 m everybody runs in the middle.
    Raises BadInput on an unknown choice.
    """
    if choice not in CHOICES:
        raise BadInput(_unknown("line", choice))
    width = np.asarray(width_m, dtype=np.float64)
    low, high = _free_band(choice, width)
    narrow, free = figure("line.narrow_m").value, figure("line.free_m").value
    room = np.clip((width - narrow) / (free - narrow), 0.0, 1.0)
    middle = 0.5 * width
    return middle + room * (low - middle), middle + room * (high - middle)


def inside_offset_m(choice: str, width_m: ArrayLike, share: ArrayLike) -> Array:
    """How far off the inside edge does a runner with their own draw `share` run, in metres?

    width_m and share (0 to 1) broadcast against each other: a larger share lies further out.
    Check: tests/unit/runners/test_runners_lines.py.
    """
    low, high = inside_band_m(choice, width_m)
    return np.asarray(low + np.asarray(share, dtype=np.float64) * (high - low), dtype=np.float64)


def draw_choices(
    shares: Mapping[str, float], rng: np.random.Generator, shape: tuple[int, int]
) -> NDArray[np.str_]:
    """The line of everybody at every turn, `shape` (N, G), drawn by `shares` (which sum to 1).

    One draw each, whatever the shares: a small change of the shares moves only few. Raises
    BadInput.
    """
    problems = [_unknown("lines", name) for name in shares if name not in CHOICES]
    chances = np.array([shares.get(name, 0.0) for name in CHOICES], dtype=np.float64)
    if not problems and not (np.all(chances >= 0.0) and abs(chances.sum() - 1.0) < 1e-6):
        problems = [Problem("lines", f"sum {chances.sum():g}", "shares of 0 to 1 that sum to 1")]
    if problems:
        raise BadInput(problems)
    draw = rng.random((shape[0], whole_blocks(shape[1], _BLOCK)))[:, : shape[1]]
    which = np.searchsorted(np.cumsum(chances)[:-1], draw, side="right")
    return np.array(CHOICES, dtype=np.str_)[which]


def with_inside_share(shares: Mapping[str, float], inside: float) -> dict[str, float]:
    """The shares with so much of the field on the inside; the rest keep their proportion, or are even.

    Check: tests/unit/runners/test_runners_lines.py.
    """
    others = {name: shares.get(name, 0.0) for name in CHOICES if name != "inside"}
    total = sum(others.values())
    if total == 0.0:
        others, total = dict.fromkeys(others, 1.0), float(len(others))
    return {
        "inside": inside,
        **{name: (1 - inside) * part / total for name, part in others.items()},
    }


def pull_about(low: float, high: float, mean: float) -> tuple[float, float]:
    """The range of pulls moved to another mean: itself where it has that, and drawn in towards 0 and 1.

    Check: tests/unit/runners/test_runners_lines.py.
    """
    middle = (low + high) / 2
    if mean <= middle:
        share = mean / middle if middle else 1.0
        return low * share, high * share
    share = (1 - mean) / (1 - middle)
    return 1 - (1 - low) * share, 1 - (1 - high) * share


def _free_band(choice: str, width_m: Array) -> tuple[Array, Array]:
    margin = figure("geometry.measuring_margin_m").value
    third = width_m / 3.0
    if choice == "middle":
        return third, 2.0 * third
    if choice == "outside":
        return 2.0 * third, np.maximum(2.0 * third, width_m - margin)
    widest = figure("line.inside_band_m").value
    return np.full_like(width_m, margin), np.minimum(widest, np.maximum(margin, third))


def _unknown(key: str, choice: str) -> Problem:
    allowed = "one of " + ", ".join(repr(known) for known in CHOICES)
    return Problem(key, repr(choice), allowed, nearest_word(str(choice), CHOICES))
