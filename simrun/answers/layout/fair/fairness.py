"""How fair is a layout at a mark? The spread between boxes, the draw's share, the worst pair of boxes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simrun.answers.layout.fair.between import between_boxes, jackknifed, root
from simrun.answers.layout.fair.layout_sample import LayoutSample
from simrun.answers.layout.fair.worst_pair import WorstPair, worst_of
from simrun.trials.how_sure import Points, Sure

Array = NDArray[np.float64]


def unfairness_s(sample: LayoutSample, checkpoint: str) -> Sure:
    """How far apart are the boxes? The standard deviation between boxes of the mean seconds lost."""
    lost = sample.by_box(sample.lost_s[:, :, sample.at(checkpoint)])
    return root(jackknifed(between_boxes, lost, sample.points))


def drawn_share(sample: LayoutSample, checkpoint: str) -> Sure:
    """Which share of the variance of places does the box alone explain? 0 to 1.

    The draw of teams' abilities is not in it: only what a box keeps from race to race counts.
    """
    place = sample.place[:, :, sample.at(checkpoint)]
    whole = float(np.nanmean(np.nanvar(place, axis=1)))
    found = jackknifed(between_boxes, sample.by_box(place), sample.points)
    return found.mapped(lambda variance: min(1.0, max(0.0, variance / whole)))


def worst_pair(sample: LayoutSample, checkpoint: str) -> WorstPair:
    """Which box loses most seconds by this mark, which least, and by how much?"""
    lost = sample.by_box(sample.lost_s[:, :, sample.at(checkpoint)])
    return worst_of(lost, np.unique(sample.box), sample.points)


def points_between(sample: LayoutSample) -> Sure | None:
    """How many team points lie between the boxes at the finish? None where the races do not go so far."""
    if sample.points_lost is None:
        return None
    return root(jackknifed(between_boxes, sample.by_box(sample.points_lost), sample.points))


def worst_pair_in_points(sample: LayoutSample) -> WorstPair | None:
    """Which box costs its team most points, which least? None where the races do not go to the finish."""
    if sample.points_lost is None:
        return None
    means = sample.by_box(sample.points_lost)
    return worst_of(means, np.unique(sample.box), sample.points)


def fairer_by_s(first: LayoutSample, second: LayoutSample, checkpoint: str) -> Sure:
    """By how many seconds lie the boxes of the second layout closer together? The same seeds in both."""
    lost = [s.by_box(s.lost_s[:, :, s.at(checkpoint)]) for s in (first, second)]
    return _closer(lost, first.points)


def fairer_by_points(first: LayoutSample, second: LayoutSample) -> Sure | None:
    """By how many team points lie the boxes of the second layout closer together at the finish?

    None where the races of one of them end before it.
    Check: tests/unit/answers/test_layout_weighed.py.
    """
    if first.points_lost is None or second.points_lost is None:
        return None
    lost = [first.by_box(first.points_lost), second.by_box(second.points_lost)]
    return _closer(lost, first.points)


def _closer(lost: list[Array], points: Points | None) -> Sure:
    """By how much lie the boxes of the second closer together? lost: (S, B) each, of the same seeds."""
    split = lost[0].shape[1]

    def saved(rows: Array, points: Points | None) -> float:
        before, after = (between_boxes(half, points) for half in (rows[:, :split], rows[:, split:]))
        return float(np.sqrt(max(0.0, before)) - np.sqrt(max(0.0, after)))

    return jackknifed(saved, np.concatenate(lost, axis=1), points)
