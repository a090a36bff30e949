"""Does what was seen agree with itself, and with any mix of the inputs at all?

Every source (a list of splits, a count at a place) is held against what the others say: by the inputs that
they leave, between what would its figures lie? And against every race of the table: does any mix of the
inputs give such a thing?
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.trials.learning.learn_inputs import Learner, Posterior, learner_of

Array = NDArray[np.float64]

TOO_RARE = 0.01
"""What so few races would show of themselves does not agree. What was seen counts as one of them."""

MIDDLE = (0.05, 0.95)
RIDGE = 1e-3
"""So much of their mean variance is added to figures that may go together to the last digit."""


@dataclass(frozen=True)
class Agreement:
    """One source, by its number, against a crowd of races.

    share: of the races that lie at least as far out as what was seen. figure: the number of the figure that
    lies furthest out, seen there, and low, high: what nine of ten races have.
    """

    source: int
    share: float
    figure: int
    seen: float
    low: float
    high: float

    @property
    def agrees(self) -> bool:
        """Might such a thing be seen?"""
        return self.share >= TOO_RARE


def with_any(source: int, figures: Array, seen: Array) -> Agreement:
    """One source against every race of the table, so against any mix of the inputs.

    figures (R, F), seen (F,). Check: tests/unit/trials/test_agreement.py.
    """
    return _held(source, figures, np.full(len(figures), 1.0 / len(figures)), seen)


def learners_without(inputs: Array, figures: Sequence[Array]) -> list[Learner]:
    """Learn the inputs (R, D) from all sources but one, for every one in turn; none where there is only one.

    figures: an array a source, (R, F). Of the table alone: whatever was seen is held against the same ones.
    """
    if len(figures) < 2:
        return []
    return [learner_of(inputs, np.hstack(_but(figures, i))) for i in range(len(figures))]


def with_others(
    learners: Sequence[Learner], figures: Sequence[Array], seen: Sequence[Array]
) -> list[Agreement]:
    """Every source against what the others leave of the inputs; nothing where there is one source only.

    learners: as of `learners_without`; figures and seen: an array a source, (R, F) and (F,).
    """
    found = []
    for source, learner in enumerate(learners):
        moved, weights = foretold(learner, np.concatenate(_but(seen, source)), figures[source])
        found.append(_held(source, moved, weights, seen[source]))
    return found


def _but(arrays: Sequence[Array], source: int) -> list[Array]:
    return [each for i, each in enumerate(arrays) if i != source]


def with_posterior(
    posterior: Posterior, figures: Sequence[Array], seen: Sequence[Array]
) -> list[Agreement]:
    """Every source against what all of them leave of the inputs: does what was learnt give what was seen?

    figures and seen: an array a source, (R, F) and (F,). What the figures say of the inputs is met as far as
    may be; whatever else they show is not.
    """
    return [
        _held(i, posterior.moved(figures[i]), posterior.weights, seen[i])
        for i in range(len(figures))
    ]


def foretold(learner: Learner, seen: Array, values: Array) -> tuple[Array, Array]:
    """What would other figures (R, F) of the table's races be, had they shown what was seen? With weights."""
    posterior = learner.posterior(seen)
    return posterior.moved(values), posterior.weights


def _held(source: int, figures: Array, weights: Array, seen: Array) -> Agreement:
    """How far out is what was seen among these races?

    By the distance that counts what goes together once, each half of the races by the spread of the other:
    by its own a race lies nearer than anything seen later.
    """
    halves = np.arange(len(figures)) % 2
    share = 0.0
    for half in (0, 1):
        here, there = halves == half, halves != half
        middle, spread = _spread(figures[there], weights[there])
        inverse = np.linalg.inv(spread)
        off, far = figures[here] - middle, seen - middle
        beyond = np.einsum("rf,fg,rg->r", off, inverse, off) >= far @ inverse @ far
        races = int(here.sum())
        share += (1 + races * float(weights[here] @ beyond / weights[here].sum())) / (races + 1) / 2
    middle, spread = _spread(figures, weights)
    worst = int(np.argmax(np.abs(seen - middle) / np.sqrt(np.diag(spread))))
    low, high = weighted_ends(figures[:, worst], weights)
    return Agreement(source, share, worst, float(seen[worst]), low, high)


def _spread(figures: Array, weights: Array) -> tuple[Array, Array]:
    share = weights / weights.sum()
    middle = share @ figures
    off = figures - middle
    spread = (share[:, None] * off).T @ off
    return middle, spread + RIDGE * np.diag(np.maximum(np.diag(spread), 1e-12))


def weighted_ends(
    values: Array, weights: Array, shares: tuple[float, float] = MIDDLE
) -> tuple[float, float]:
    """Between what do nine of ten weighted values lie?"""
    order = np.argsort(values, kind="stable")
    up = np.cumsum(weights[order])
    at = [min(int(np.searchsorted(up, share * up[-1])), len(order) - 1) for share in shares]
    return float(values[order[at[0]]]), float(values[order[at[1]]])
