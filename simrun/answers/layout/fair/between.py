"""How much of what lies between boxes is no chance? A variance, with its ranges by the jackknife."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from simrun.trials.how_sure import Points, Sure, sure
from simrun.trials.statistics import Estimate

Array = NDArray[np.float64]


def between_boxes(means: Array, points: Points | None = None) -> float:
    """The variance between boxes that is not chance: (S, B) means of boxes by race; may fall below zero.

    Variance of the boxes' long-run means, less what so few races leave in them by chance. What a race
    has in common for all boxes is taken away first. points (S,): races of one point of the inputs are not
    independent, so that it is their sums that tell what is left by chance.
    Check: tests/unit/answers/test_layout_measures.py (draws with a known answer).
    """
    own = means - np.nanmean(means, axis=1, keepdims=True)
    if len(own) < 2 or own.shape[1] < 2:
        return float("nan")
    if points is None:
        chance = np.nanmean(np.nanvar(own, axis=0, ddof=1)) / len(own)
    else:
        chance = np.mean(_variance_of_means(own, points))
    return float(np.nanvar(np.nanmean(own, axis=0), ddof=1) - chance)


def _variance_of_means(own: Array, points: Points) -> Array:
    """The variance of every box's mean over races of which those of one point go together, (B,)."""
    off = np.nan_to_num(own - np.nanmean(own, axis=0))
    _, where = np.unique(points, return_inverse=True)
    sums = np.zeros((where.max() + 1, own.shape[1]))
    np.add.at(sums, where, off)
    groups = len(sums)
    return np.asarray(groups / max(1, groups - 1) * (sums**2).sum(axis=0) / len(own) ** 2)


Ask = Callable[[Array, "Points | None"], float]
"""A figure of races, one a row, with the points of the inputs that they met."""


def jackknifed(ask: Ask, rows: NDArray, points: Points | None = None) -> Sure:
    """A figure of all races with its ranges: every race left out once.

    rows (S, ...): one a race; points (S,): of the inputs. Formula: pseudo-values S x - (S - 1) x_-i, judged
    as values of the races are (`trials.how_sure`), about x. Without points that is
    se^2 = (S - 1) / S sum (x_-i - mean)^2, +- t(S - 1) se. Check: tests/unit/answers/test_layout_measures.py.
    """
    count, whole = len(rows), ask(rows, points)
    if count < 3:
        nothing = Estimate(whole, -np.inf, np.inf, count, 1.0)
        return Sure(whole, -np.inf, np.inf, count, 1.0, nothing)
    kept = [np.delete(np.arange(count), i) for i in range(count)]
    without = [ask(rows[some], None if points is None else points[some]) for some in kept]
    pseudo = count * whole - (count - 1) * np.array(without)
    return sure(pseudo + (whole - pseudo.mean()), points)


def root(found: Sure) -> Sure:
    """The same as a standard deviation; below nothing is nothing, unknown stays unknown."""
    return found.mapped(
        lambda variance: variance if np.isnan(variance) else float(np.sqrt(max(0.0, variance)))
    )
