"""At which inputs are races run to find out which of them decide? Rows of points that differ in one group.

A row is one seed and, by that same seed, so with the same people and chances: a point A, a point B, for
every group of inputs the point A with that group as in B, and A once more with everything nudged by next to
nothing: a crowd is chaotic, and what such a nudge changes is chance that the same seed does not take away.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from simrun.scenario.tables.schema_inputs import Inputs
from simrun.sources.assumed import DECIDES
from simrun.trials.hanging.input_groups import GROUPS

Point = Mapping[str, float]

BASE, OTHER, NUDGED = "A", "B", "A nudged"

NUDGE = 0.001
"""This share of its range is next to nothing for every input, and enough for another crowd."""

SCRAMBLED_BY = 2
"""Another scrambling than that of studies."""


@dataclass(frozen=True)
class Row:
    """One seed with its points by name: BASE, OTHER, NUDGED, and one by the name of every free group."""

    seed: int
    points: Mapping[str, Point]


def groups_of(inputs: Inputs) -> dict[str, tuple[str, ...]]:
    """The groups of which something is not told, with what is not told of them."""
    free = {name: tuple(k for k in keys if k in inputs.free) for name, keys in GROUPS.items()}
    return {name: keys for name, keys in free.items() if keys}


def row_of(inputs: Inputs, number: int) -> Row:
    """Row `number`, from 1, of a race day's inputs: the same whatever other rows there are.

    A and B are one point of a scrambled Sobol sequence of twice as many dimensions, within the ranges. Of
    what was learnt every input is drawn by itself: rows must move one group without the others.
    Source: Saltelli and others 2010, Comput. Phys. Commun. 181:259 (the design); memory.
    Check: tests/unit/trials/test_hanging.py.
    """
    from scipy.stats import qmc

    sequence = qmc.Sobol(2 * len(DECIDES), scramble=True, rng=SCRAMBLED_BY)
    if number > 1:
        sequence.fast_forward(number - 1)
    halves = np.split(sequence.random(1)[0], 2)
    base, other = (_within(inputs, dict(zip(DECIDES, half, strict=True))) for half in halves)
    mixed = {
        name: {**base, **{key: other[key] for key in keys}}
        for name, keys in groups_of(inputs).items()
    }
    return Row(number, {BASE: base, OTHER: other, NUDGED: _nudged(inputs, base), **mixed})


def _nudged(inputs: Inputs, base: Point) -> Point:
    """Every input moved by next to nothing towards the middle of its range."""
    return {
        key: base[key] + NUDGE * (high - low) * (1 if base[key] < (low + high) / 2 else -1)
        for key, (low, high) in inputs.free.items()
    }


def _within(inputs: Inputs, unit: Mapping[str, float]) -> Point:
    return {key: float(inputs.value_at(key, unit[key])) for key in inputs.free}
