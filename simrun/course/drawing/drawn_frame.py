"""Where on the globe does a course lie? Degrees to metres of the local frame, and back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import Place

Array = NDArray[np.float64]

ROUNDED_TO_DECIMALS = 4
"""Local coordinates are rounded to 0.1 mm, so that the same course drawn elsewhere or turned about
gives the same bits."""


@dataclass(frozen=True)
class Frame:
    """The middle of the start line in degrees, and the way the race first runs, from east."""

    longitude_deg: float
    latitude_deg: float
    heading_rad: float = 0.0

    @property
    def place(self) -> Place:
        """The same as a Strip carries it."""
        return Place((0.0, 0.0), self.heading_rad, (self.longitude_deg, self.latitude_deg))

    def to_local_m(self, degree: Array) -> Array:
        """Longitude and latitude (P, 2) in the local frame, x ahead and y to the left: (P, 2).

        Formula: azimuthal equidistant about the middle of the start line on the WGS84 ellipsoid,
        then turned. Distances from the middle are exact; at 5 km a length across is off by 1e-7.
        Check: tests/unit/course/test_drawn.py, 0.001 degree at 40 N is 111.035 m north, 85.394 m east
        (WGS84 series, computed).
        """
        east, north = self.projection()(degree[:, 0], degree[:, 1])
        turned = _turned(np.stack([east, north], axis=1), -self.heading_rad)
        return np.round(turned, ROUNDED_TO_DECIMALS) + 0.0

    def to_degree(self, local_m: Array) -> Array:
        """The local frame (P, 2) in longitude and latitude (P, 2)."""
        world = _turned(np.asarray(local_m, dtype=float), self.heading_rad)
        pair = self.projection()(world[:, 0], world[:, 1], inverse=True)
        return np.stack(pair, axis=1)

    def projection(self) -> Any:
        """The projection before it is turned: degrees to metres east and north."""
        from pyproj import Proj

        return Proj(proj="aeqd", lat_0=self.latitude_deg, lon_0=self.longitude_deg, ellps="WGS84")


def frame_across(left_deg: Array, right_deg: Array) -> Frame:
    """The frame of a start line between two points (2,) each: it faces the course.

    The middle is that of the straight line on the ground, so a line across the 180th meridian is
    like any other.
    """
    ends = np.stack([left_deg, right_deg])
    middle = Frame(*_as_pair(left_deg))
    for _ in range(3):
        ground = _unrounded(middle, ends)
        middle = Frame(*_as_pair(middle.to_degree(ground.mean(axis=0)[None])[0]))
    left, right = _unrounded(middle, ends)
    across = right - left
    return Frame(
        middle.longitude_deg, middle.latitude_deg, float(np.arctan2(across[0], -across[1]))
    )


def frame_along(first_deg: Array, second_deg: Array) -> Frame:
    """The frame of a centre line that begins with these two points (2,) each."""
    start = Frame(*_as_pair(first_deg))
    east, north = _unrounded(start, second_deg[None])[0]
    return Frame(start.longitude_deg, start.latitude_deg, float(np.arctan2(north, east)))


def _unrounded(frame: Frame, degree: Array) -> Array:
    return np.stack(frame.projection()(degree[:, 0], degree[:, 1]), axis=1)


def _as_pair(degree: Array) -> tuple[float, float]:
    return float(degree[0]), float(degree[1])


def _turned(points: Array, angle_rad: float) -> Array:
    cosine, sine = np.cos(angle_rad), np.sin(angle_rad)
    x, y = points[:, 0], points[:, 1]
    return np.stack([cosine * x - sine * y, sine * x + cosine * y], axis=1)
