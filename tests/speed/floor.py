"""The floor: a bare cell-list walk that touches the neighbours and does nothing with them.

It stands by itself, shares no code with the kernel, and is not to be changed when the kernel is: places in
the order of their squares, side by side in memory, counted and compared, no law. Two of them: everybody
within the look (what the tree finds too), and only those whom the kernel minds, ahead and near the way.
"""

from __future__ import annotations

from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray

SQUARE_M = 3.0
LOOK_M = 6.0
LOOK_ASIDE_M = 2.6
BEHIND_M = 0.3

Array = NDArray[np.float64]


class Floor:
    """The cell list of N places and the walk over it."""

    def __init__(self, x: Array, y: Array) -> None:
        buckets = 1 << int(np.ceil(np.log2(max(8, 2 * len(x)))))
        self.x, self.y = np.ascontiguousarray(x), np.ascontiguousarray(y)
        self.lists = (np.zeros(buckets + 1, np.int64), np.zeros((len(x), 2)))
        self.squares = (np.zeros((len(x), 3), np.int64), np.zeros((len(x), 2), np.int64))

    def touch(self) -> float:
        """Make the list anew, touch everybody within the look; how many pairs, each twice."""
        sort(self.x, self.y, *self.lists, *self.squares)
        return float(walk_all(*self.lists, self.squares[1])[0])

    def touch_minded(self, to_x: Array, to_y: Array) -> float:
        """The same for those ahead and near the way along (to_x, to_y), (N,) each."""
        sort(self.x, self.y, *self.lists, *self.squares)
        return float(walk_minded(self.x, self.y, to_x, to_y, *self.lists, *self.squares)[0])


@numba.njit(error_model="numpy")
def bucket_of(square_x: int, square_y: int, buckets: int) -> int:
    """Which bucket is this square in?"""
    return ((square_x * 73856093) ^ (square_y * 19349663)) & (buckets - 1)


@numba.njit(error_model="numpy")
def sort(x: Any, y: Any, begins: Any, place: Any, square: Any, sorted_square: Any) -> None:
    """Places and squares in the order of their buckets."""
    buckets = len(begins) - 1
    begins[:] = 0
    for i in range(len(x)):
        square[i, 0] = int(np.floor(x[i] / SQUARE_M))
        square[i, 1] = int(np.floor(y[i] / SQUARE_M))
        square[i, 2] = bucket_of(square[i, 0], square[i, 1], buckets)
        begins[square[i, 2]] += 1
    total = 0
    for b in range(buckets + 1):
        total += begins[b]
        begins[b] = total
    for i in range(len(x)):
        begins[square[i, 2]] -= 1
        at = begins[square[i, 2]]
        place[at, 0], place[at, 1] = x[i], y[i]
        sorted_square[at, 0], sorted_square[at, 1] = square[i, 0], square[i, 1]


@numba.njit(error_model="numpy")
def walk_all(begins: Any, place: Any, square: Any) -> Any:
    """Touch everybody within the look of everybody: how many, and the sum of their ways apart in x."""
    touched, summed, buckets = 0, 0.0, len(begins) - 1
    for i in range(len(place)):
        for step in range(25):
            square_x, square_y = square[i, 0] + step // 5 - 2, square[i, 1] + step % 5 - 2
            bucket = bucket_of(square_x, square_y, buckets)
            for j in range(begins[bucket], begins[bucket + 1]):
                if j == i or square[j, 0] != square_x or square[j, 1] != square_y:
                    continue
                dx, dy = place[j, 0] - place[i, 0], place[j, 1] - place[i, 1]
                if dx * dx + dy * dy <= LOOK_M * LOOK_M:
                    touched += 1
                    summed += dx
    return touched, summed


@numba.njit(error_model="numpy")
def walk_minded(
    x: Any, y: Any, to_x: Any, to_y: Any, begins: Any, place: Any, square: Any, sorted_square: Any
) -> Any:
    """Touch those ahead and near the way of each; squares that hold none of them are left out."""
    touched, summed, buckets, half = 0, 0.0, len(begins) - 1, 0.71 * SQUARE_M
    for i in range(len(x)):
        for step in range(25):
            square_x, square_y = square[i, 0] + step // 5 - 2, square[i, 1] + step % 5 - 2
            dx, dy = (square_x + 0.5) * SQUARE_M - x[i], (square_y + 0.5) * SQUARE_M - y[i]
            if dx * to_x[i] + dy * to_y[i] < -BEHIND_M - half:
                continue
            if abs(dy * to_x[i] - dx * to_y[i]) > LOOK_ASIDE_M + half:
                continue
            bucket = bucket_of(square_x, square_y, buckets)
            for j in range(begins[bucket], begins[bucket + 1]):
                if sorted_square[j, 0] != square_x or sorted_square[j, 1] != square_y:
                    continue
                dx, dy = place[j, 0] - x[i], place[j, 1] - y[i]
                ahead, aside = dx * to_x[i] + dy * to_y[i], dx * to_y[i] - dy * to_x[i]
                if dx * dx + dy * dy > LOOK_M * LOOK_M or (dx == 0.0 and dy == 0.0):
                    continue
                if ahead >= -BEHIND_M and abs(aside) <= LOOK_ASIDE_M:
                    touched += 1
                    summed += dx
    return touched, summed
