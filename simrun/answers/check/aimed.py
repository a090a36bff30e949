"""Which arc, turned which way, makes the way to the first narrowing equal for every box? Without a race."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simrun.course.start import StartSpec, box_middles_m, paint_m
from simrun.course.strip import Strip
from simrun.measure.stakes import TAPE_M, TAPE_REACH_M
from simrun.measure.wheel import farthest_box_m
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema import MOST_TILT_DEG

Array = NDArray[np.float64]

OFF_EDGE_M = 0.30
"""The wheel runs so far off the edges."""

LEAST_BOW_M = 1e-3
"""Less bow than this is a straight line."""


@dataclass(frozen=True)
class Aimed:
    """The line as it could be: about a point aim_m ahead of it, turned by tilt_deg to the left.

    now_m, then_m: how much further the farthest box has it to the first gate than the best one, as the line
    is and as it could be.
    """

    gate: str
    aim_m: float
    tilt_deg: float
    now_m: float
    then_m: float


def aimed(scenario: Scenario) -> Aimed | None:
    """The arc that is nearest to equal ways, by tilt and bow; None where the course has no gate.

    What is made least is the sum of squares, over the boxes, of the way from the middle of a front row to the
    nearest point between the gate's edges, less their mean, by tilt and bow (scipy's least squares). The way
    as the wheel runs it is then measured anew: then_m. Check: tests/validation/test_aimed.py.
    """
    from scipy.optimize import least_squares

    strip, spec = scenario.strip, scenario.start_line.spec
    if not strip.gates or spec.boxes < 2:
        return None
    edges = _edges_m(strip)
    middle = edges.mean(axis=0)
    ahead = float(np.degrees(np.arctan2(middle[1], middle[0])))
    away = float(np.hypot(*middle))
    half = spec.width_m / 2
    full = away - np.sqrt(max(0.0, away**2 - half**2))
    bounds = ([-MOST_TILT_DEG, LEAST_BOW_M], [MOST_TILT_DEG, 0.95 * half])
    begin = np.clip([ahead, full], *bounds)
    found = least_squares(lambda x: _off_m(_bowed(spec, *x), edges), begin, bounds=bounds)
    tilt, bow = (float(value) for value in found.x)
    aim_m, tilt = round((bow**2 + half**2) / (2 * bow), 1), _taped_deg(tilt)
    then = replace(spec, shape="arc", aim_m=aim_m, tilt_deg=tilt)
    now_m, then_m = (farthest_box_m(strip, line) for line in (spec, then))
    return Aimed(strip.gates[0].name, aim_m, tilt, now_m, then_m)


def _taped_deg(tilt_deg: float) -> float:
    """The angle nearest to this that a crew lays out: whole centimetres aside over a long tape."""
    aside_m = round(TAPE_REACH_M * float(np.tan(np.radians(tilt_deg))) / TAPE_M) * TAPE_M
    return round(float(np.degrees(np.arctan(aside_m / TAPE_REACH_M))), 4) + 0.0


def _bowed(spec: StartSpec, tilt_deg: float, bow_m: float) -> StartSpec:
    half = spec.width_m / 2
    aim_m = (bow_m**2 + half**2) / (2 * bow_m)
    return replace(spec, shape="arc", aim_m=aim_m, tilt_deg=tilt_deg)


def _edges_m(strip: Strip) -> Array:
    """The two ends of the first gate between which the wheel may pass: (2, 2)."""
    cut = strip.gates[0].first_cut
    left, right = strip.left_m[cut], strip.right_m[cut]
    across = (right - left) / np.hypot(*(right - left))
    return np.stack([left + OFF_EDGE_M * across, right - OFF_EDGE_M * across])


def _off_m(spec: StartSpec, edges_m: Array) -> Array:
    """By how much every box's way to the gate is longer than their mean: (B,)."""
    points = paint_m(spec, box_middles_m(spec))
    along = edges_m[1] - edges_m[0]
    share = np.clip((points - edges_m[0]) @ along / (along @ along), 0.0, 1.0)
    ways = np.hypot(*(points - edges_m[0] - share[:, None] * along).T)
    return np.asarray(ways - ways.mean())
