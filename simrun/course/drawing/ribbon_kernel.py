"""The compiled part of laying cross-cuts between two edges: search, and which cuts are needed."""

from __future__ import annotations

import numpy as np

from simrun.base.compiled import compiled, compiled_with_arrays

BACKWARD_M = 1e-7
"""An end of a cut may step back by this much: rounding, a thousandth of the drawing's 0.1 mm."""

FORWARD_M = 1e-5
"""The least that a cell must lead forward (sum over its four corners): cuts on top of each other
would give two places the same station."""

SLANT_WEIGHT = 5.0
"""How much dearer a cut is for lying along the course than for its length. Without it, cuts before
a gate in a wall slant to one side, though the course is symmetric (test_ribbon.py)."""

LEFT, RIGHT, BOTH = 1, 2, 3


@compiled
def convex_cell(left_0, right_0, left_1, right_1):
    """Is the cell between two cuts convex and the right way round, or a triangle?

    Both edges must lead forward as seen from both cuts.
    """
    forward = 0.0
    for cut in range(2):
        ax = right_0[0] - left_0[0] if cut == 0 else right_1[0] - left_1[0]
        ay = right_0[1] - left_0[1] if cut == 0 else right_1[1] - left_1[1]
        width = np.sqrt(ax * ax + ay * ay)
        if width < FORWARD_M:
            return False
        of_left = (-ay * (left_1[0] - left_0[0]) + ax * (left_1[1] - left_0[1])) / width
        of_right = (-ay * (right_1[0] - right_0[0]) + ax * (right_1[1] - right_0[1])) / width
        if of_left < -BACKWARD_M or of_right < -BACKWARD_M:
            return False
        forward += of_left + of_right
    return forward >= FORWARD_M


@compiled
def length_of(a, b):
    """The distance of two points, in metres."""
    return np.sqrt((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2)


@compiled
def step_price(left, right, i, j, di, dj):
    """What does it cost to come from the cut (i - di, j - dj) to (i, j)?

    Mean squared cut length times the mean of the metres run on both edges, so that the whole sum
    does not depend on how densely an edge was drawn; and the same for the part of the cut's length
    that lies along the way both edges lead, times SLANT_WEIGHT.
    """
    lx, ly = left[i, 0] - left[i - di, 0], left[i, 1] - left[i - di, 1]
    rx, ry = right[j, 0] - right[j - dj, 0], right[j, 1] - right[j - dj, 1]
    bx, by = right[j - dj, 0] - left[i - di, 0], right[j - dj, 1] - left[i - di, 1]
    ax, ay = right[j, 0] - left[i, 0], right[j, 1] - left[i, 1]
    run = 0.5 * (np.sqrt(lx * lx + ly * ly) + np.sqrt(rx * rx + ry * ry))
    square = 0.5 * (ax * ax + ay * ay + bx * bx + by * by)
    along = 0.25 * ((ax + bx) * (lx + rx) + (ay + by) * (ly + ry))
    return square * run + SLANT_WEIGHT * along * along / run


@compiled_with_arrays
def best_chain(left, right, low, high, strict):
    """The cheapest chain of cuts from the first to the last points, and how far was it found?

    The chain as pairs of point numbers (G, 2).

    left (n, 2), right (m, 2); point i may be joined to low[i] .. high[i]. `strict` allows only
    convex cells. Where no chain exists the pairs are empty and the second answer is the last point
    of the left edge that could be reached.
    """
    count, size = len(left), high - low + 1
    row = np.concatenate((np.zeros(1, np.int64), np.cumsum(np.maximum(size, 0))))
    came = np.zeros(row[-1], np.int8)
    before = np.full(len(right), np.inf)
    now = np.full(len(right), np.inf)
    reached = 0
    for i in range(count):
        for j in range(low[i], high[i] + 1):
            best, step = np.inf, 0
            if i == 0 and j == 0:
                best = 0.0
            for kind in (BOTH, LEFT, RIGHT):
                di, dj = 1 if kind != RIGHT else 0, 1 if kind != LEFT else 0
                if i < di or j - dj < low[i - di] or j - dj > high[i - di]:
                    continue
                known = before[j - dj] if di else now[j - dj]
                if known >= best:
                    continue
                price = known + step_price(left, right, i, j, di, dj)
                if price < best and (
                    not strict or convex_cell(left[i - di], right[j - dj], left[i], right[j])
                ):
                    best, step = price, kind
            now[j] = best
            came[row[i] + j - low[i]] = step
            if best < np.inf:
                reached = i
        before, now = now, before
    found = high[-1] == len(right) - 1 and before[len(right) - 1] < np.inf
    return walk_back(came, row, low, len(right), found), reached


@compiled_with_arrays
def walk_back(came, row, low, right_count, found):
    """Read the chain from its end: pairs (G, 2)."""
    count = len(low)
    pairs = np.zeros((count + right_count, 2), np.int64)
    if not found:
        return pairs[:0]
    i, j, place = count - 1, right_count - 1, len(pairs) - 1
    pairs[place, 0], pairs[place, 1] = i, j
    while i > 0 or j > 0:
        step = came[row[i] + j - low[i]]
        i -= 1 if step != RIGHT else 0
        j -= 1 if step != LEFT else 0
        place -= 1
        pairs[place, 0], pairs[place, 1] = i, j
    return pairs[place:]


@compiled
def off_straight(point, a, b):
    """How far is a point from the straight between a and b, in metres?"""
    abx, aby = b[0] - a[0], b[1] - a[1]
    square = abx * abx + aby * aby
    share = 0.0
    if square > 0.0:
        share = ((point[0] - a[0]) * abx + (point[1] - a[1]) * aby) / square
        share = min(1.0, max(0.0, share))
    x, y = a[0] + share * abx - point[0], a[1] + share * aby - point[1]
    return np.sqrt(x * x + y * y)


@compiled
def loses_no_ground(left, right, first, last, limits, next_corner):
    """May the cuts between `first` and `last` be left out? 0 no, and none further; 1 no; 2 yes."""
    straight_m, longest_m, least_cosine = limits
    if length_of(left[first], left[last]) > longest_m:
        return 0
    if length_of(right[first], right[last]) > longest_m:
        return 0
    k = next_corner[first + 1]
    while k < last:
        if off_straight(left[k], left[first], left[last]) > straight_m:
            return 0
        if off_straight(right[k], right[first], right[last]) > straight_m:
            return 0
        k = next_corner[k + 1]
    ax, ay = right[first, 0] - left[first, 0], right[first, 1] - left[first, 1]
    bx, by = right[last, 0] - left[last, 0], right[last, 1] - left[last, 1]
    size = np.sqrt((ax * ax + ay * ay) * (bx * bx + by * by))
    if ax * bx + ay * by < least_cosine * size:
        return 1
    return 2 if convex_cell(left[first], right[first], left[last], right[last]) else 1


@compiled
def uneven_price(left, right, first, last, longest_m):
    """A small price on long cells, so that of two equally short chains the more even one wins."""
    run = length_of(left[first], left[last]) + length_of(right[first], right[last])
    return 0.01 * (run / longest_m) ** 2


@compiled_with_arrays
def needed_cuts(left, right, must_keep, is_corner, limits):
    """Which cuts are needed, (K,)? The fewest that lose no ground, as evenly spaced as may be.

    must_keep, is_corner (K,): cuts that stay; cuts that end at a drawn point. limits: how straight
    (m), the longest cell (m), the cosine of the largest turn of a cell.
    """
    count = len(left)
    next_corner = np.full(count + 1, count)
    for k in range(count - 1, -1, -1):
        next_corner[k] = k if is_corner[k] else next_corner[k + 1]
    price = np.full(count, np.inf)
    came = np.zeros(count, np.int64)
    price[0] = 0.0
    for first in range(count - 1):
        for last in range(first + 1, count):
            answer = 2
            if last > first + 1:
                if must_keep[last - 1]:
                    break
                answer = loses_no_ground(left, right, first, last, limits, next_corner)
            if answer == 0:
                break
            if answer == 1:
                continue
            whole = price[first] + 1.0 + uneven_price(left, right, first, last, limits[1])
            if whole < price[last]:
                price[last], came[last] = whole, first
    return chosen(came, count)


@compiled_with_arrays
def chosen(came, count):
    """Read the kept cuts back from the last one: (K,) yes or no."""
    keep = np.zeros(count, np.bool_)
    k = count - 1
    keep[0] = keep[k] = True
    while k > 0:
        k = came[k]
        keep[k] = True
    return keep
