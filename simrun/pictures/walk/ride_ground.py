"""The course as the replay page's eye sees it, with the way along which somebody rides; nobody is on it."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.course.route import Line
from simrun.course.strip import Strip


def ride_ground(strip: Strip, line: Line) -> dict[str, Any]:
    """What the page draws: edges, stations and the way as metres, x, y, metres, x, y, ...; fit for JSON.

    No place has a name here: whoever rides along is to know them. Check:
    tests/unit/pictures/test_place_map.py.
    """
    along = np.concatenate([[0.0], line.along_m])
    way = np.column_stack([along, np.vstack([[0.0, 0.0], line.point_m])])
    return {
        "left": _flat(strip.left_m),
        "right": _flat(strip.right_m),
        "left_edge": strip.left_edge.tolist(),
        "right_edge": strip.right_edge.tolist(),
        "station": _flat(strip.station_m),
        "length": round(strip.length_m, 2),
        "obstacles": np.round(strip.obstacles_m, 2).tolist(),
        "gates": [],
        "landmarks": [],
        "checkpoints": [],
        "way": _flat(way),
    }


def _flat(values: NDArray[Any]) -> list[float]:
    rounded: list[float] = np.round(np.asarray(values, dtype=float), 2).ravel().tolist()
    return rounded
