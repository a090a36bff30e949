"""Edges by hand: arcs, how long they are and what lies between two of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


def arc(
    middle: Sequence[float], radius: float, from_deg: float, to_deg: float, count: int
) -> np.ndarray:
    """So many points of a circle from one angle to the other, (count, 2)."""
    angle = np.deg2rad(np.linspace(from_deg, to_deg, count))
    return np.array(middle) + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)


def cell_area_m2(left: np.ndarray, right: np.ndarray) -> np.ndarray:
    """The area between every two cuts, positive where left is on the left: (K-1,)."""
    one, other = right[1:] - left[:-1], left[1:] - right[:-1]
    return (one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]) / 2


def path_m(points: np.ndarray) -> float:
    """How long is the way through these points?"""
    return float(np.hypot(*np.diff(points, axis=0).T).sum())
