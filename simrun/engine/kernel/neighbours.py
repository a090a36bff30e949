"""Who is near whom? A cell list: bodies sorted into square buckets of ground, made anew every step.

Buckets are found by hashing the square's numbers, so the list costs what the bodies cost, however
large the course is. Squares that follow one another in x are neighbours in the list too: a row of
squares is one run of bodies, side by side in memory. Strangers that share a bucket are told apart by
their row and by how far off they are.
"""

from __future__ import annotations

import math
from typing import Any

from simrun.base.compiled import compiled
from simrun.state.arrays import ROW_SQUARES

SQUARE_M = 1.5
CLOSE_M = 1.4
"""Bodies nearer than this may touch within the step: 0.5 m of bodies and twice a step at 9 m/s.
Less than a square, so that only the next squares hold them."""


@compiled
def bucket_of(square_x: int, square_y: int, buckets: int) -> int:
    """The bucket of a square; `buckets` is a power of two. Rows are spread by the golden section."""
    return (square_x + square_y * (buckets * 618 // 1000 | 1)) & (buckets - 1)


@compiled
def run_of(row: int, first: int, last: int, begins: Any) -> tuple[int, int]:
    """Where in the list are the squares `first` to `last` of a row? At most ROW_SQUARES of them."""
    bucket = bucket_of(first, row, len(begins) - 1 - ROW_SQUARES)
    return begins[bucket], begins[bucket + last - first + 1]


@compiled
def square_of(at_m: float) -> int:
    """The number of the square at this x or y."""
    return int(math.floor(at_m / SQUARE_M))


@compiled
def sort_bodies(bodies: Any, ground: Any, begins: Any, seen: Any) -> int:
    """Write down all who are on the ground as others see them, by bucket. How many?

    Bucket b is seen[begins[b]:begins[b + 1]]; the first ROW_SQUARES buckets stand once more at the end,
    so that no row is cut in two.
    """
    buckets = len(begins) - 1 - ROW_SQUARES
    begins[:] = 0
    for i in range(len(bodies)):
        me = bodies[i]
        if me.gone == 0:
            me.bucket = bucket_of(square_of(me.x), square_of(me.y), buckets)
            begins[me.bucket] += 1
    total = 0
    for b in range(buckets + 1):
        total += begins[b]
        begins[b] = total
    for i in range(len(bodies)):
        if bodies[i].gone == 0:
            begins[bodies[i].bucket] -= 1
            write_down(seen[begins[bodies[i].bucket]], i, bodies[i], ground)
    for b in range(ROW_SQUARES):
        begins[buckets + 1 + b] = total + begins[b + 1]
    for at in range(begins[ROW_SQUARES]):
        i = seen[at].index
        write_down(seen[total + at], i, bodies[i], ground)
    return total


@compiled
def stays(body: Any) -> int:
    """1 where a body stays where it is: fixed, or stopped after having set off."""
    return int(body.fixed == 1 or (body.off == 1 and body.wait_s > 0.0))


@compiled
def write_down(you: Any, i: int, body: Any, ground: Any) -> None:
    """Body `i` as others see it in this step."""
    you.x, you.y = body.x, body.y
    you.vx, you.vy = body.speed * body.heading_x, body.speed * body.heading_y
    you.radius_m, you.station_m = body.radius_m, ground[body.cell].station_m
    you.index, you.row, you.cell = i, square_of(body.y), body.cell
    you.fixed = body.fixed
    you.stays = stays(body)


@compiled
def close_pairs(begins: Any, seen: Any, total: int, pairs: Any) -> int:
    """Write down all pairs that may touch within this step; returns how many."""
    count = 0
    for at in range(total):
        column, row = square_of(seen[at].x), seen[at].row
        # Every pair is met once: the rest of their own square and the next, and three of the next row.
        _, last = run_of(row, column, column + 1, begins)
        count = pairs_in_run(at, row, at + 1, last, seen, count, pairs)
        first, last = run_of(row + 1, column - 1, column + 1, begins)
        count = pairs_in_run(at, row + 1, first, last, seen, count, pairs)
    return count


@compiled
def pairs_in_run(
    at: int, row: int, first: int, last: int, seen: Any, count: int, pairs: Any
) -> int:
    """Add the pairs of one body with those of a row who are close; returns how many there are now."""
    me = seen[at]
    for other in range(first, last):
        you = seen[other]
        dx, dy = you.x - me.x, you.y - me.y
        if dx * dx + dy * dy >= CLOSE_M * CLOSE_M or you.row != row or count >= len(pairs):
            continue
        if me.fixed + you.fixed < 2:
            pairs[count, 0], pairs[count, 1] = me.index, you.index
            count += 1
    return count
