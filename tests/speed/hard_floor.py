"""The hard floor: the C pass of hard_floor.c, built where the benchmark runs. Never a dependency."""

from __future__ import annotations

import ctypes
import subprocess
import tempfile
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from tests.speed.floor import LOOK_M

SOURCE = Path(__file__).with_suffix(".c")
FLAGS = ("-O3", "-march=native", "-ffast-math", "-shared", "-fPIC")


@lru_cache(maxsize=1)
def built() -> Any:
    """The compiled pass; the machine's own C compiler makes it."""
    place = Path(tempfile.mkdtemp()) / "hard_floor.so"
    subprocess.run(["cc", *FLAGS, str(SOURCE), "-o", str(place), "-lm"], check=True)
    touch = ctypes.CDLL(str(place)).touch
    touch.restype = ctypes.c_long
    return touch


class HardFloor:
    """N places as 32-bit floats, and the arrays that the pass needs."""

    def __init__(self, x: np.ndarray, y: np.ndarray) -> None:
        self.x, self.y = (np.ascontiguousarray(values, dtype=np.float32) for values in (x, y))
        side = LOOK_M / 2
        self.columns, self.rows = (int(np.ptp(v) / side) + 1 for v in (self.x, self.y))
        self.begins = np.zeros(self.columns * self.rows + 2, np.int32)
        self.square = np.zeros(len(x), np.int32)
        self.sorted = np.zeros((2, len(x)), np.float32)
        self.summed = ctypes.c_double()

    def touch(self) -> int:
        """How many are within the look of another, each pair twice."""
        pointers = (self.begins, self.square, self.sorted[0], self.sorted[1])
        return int(
            built()(
                ctypes.c_long(len(self.x)),
                self.x.ctypes,
                self.y.ctypes,
                ctypes.c_float(LOOK_M),
                ctypes.c_long(self.columns),
                ctypes.c_long(self.rows),
                *(values.ctypes for values in pointers),
                ctypes.byref(self.summed),
            )
        )
