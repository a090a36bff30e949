"""Who is near whom? A cell list: bodies sorted into square buckets of ground, made anew every step.

Buckets are found by hashing the square's numbers, so the list costs what the bodies cost, however
large the course is. A body carries its square, so strangers that share a bucket are told apart.
"""

from __future__ import annotations

import math
from typing import Any

from simrun.compiled import compiled

SQUARE_M = 3.0
CLOSE_M = 1.4
"""Bodies nearer than this may touch within the step: 0.5 m of bodies and twice a step at 9 m/s."""


@compiled
def bucket_of(grid_x: int, grid_y: int, buckets: int) -> int:
    """The bucket of a square; `buckets` is a power of two."""
    return ((grid_x * 73856093) ^ (grid_y * 19349663)) & (buckets - 1)


@compiled
def sort_bodies(bodies: Any, begins: Any, order: Any) -> int:
    """Sort all who are on the ground by bucket: b holds order[begins[b]:begins[b + 1]]. How many?"""
    buckets = len(begins) - 1
    begins[:] = 0
    for i in range(len(bodies)):
        me = bodies[i]
        if me.gone == 1:
            continue
        me.grid_x = int(math.floor(me.x / SQUARE_M))
        me.grid_y = int(math.floor(me.y / SQUARE_M))
        me.bucket = bucket_of(me.grid_x, me.grid_y, buckets)
        begins[me.bucket] += 1
    total = 0
    for b in range(buckets + 1):
        total += begins[b]
        begins[b] = total
    for i in range(len(bodies)):
        if bodies[i].gone == 0:
            begins[bodies[i].bucket] -= 1
            order[begins[bodies[i].bucket]] = i
    return total


@compiled
def close_pairs(bodies: Any, begins: Any, order: Any, total: int, pairs: Any) -> int:
    """Write down all pairs that may touch within this step; returns how many."""
    count = 0
    for at in range(total):
        i = order[at]
        me = bodies[i]
        for step in range(5):
            # Half of the nine squares: every pair is met once.
            square_x = me.grid_x + (0 if step < 2 else 1)
            square_y = me.grid_y + (step if step < 2 else step - 3)
            bucket = bucket_of(square_x, square_y, len(begins) - 1)
            for other in range(begins[bucket], begins[bucket + 1]):
                j = order[other]
                you = bodies[j]
                if you.grid_x != square_x or you.grid_y != square_y:
                    continue
                if (step == 0 and j <= i) or me.fixed + you.fixed == 2:
                    continue
                dx, dy = you.x - me.x, you.y - me.y
                if dx * dx + dy * dy < CLOSE_M * CLOSE_M and count < len(pairs):
                    pairs[count, 0], pairs[count, 1] = i, j
                    count += 1
    return count
