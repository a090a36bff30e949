"""The kernel beside a rival and the floors. Run by hand: python tests/speed/bench_scale.py [--csv]

One run: crowds of 100 to 10000 runners at three densities on a straight; for each, one moment of the race
and at that moment all of: a step of the kernel; (a) a plain NumPy step that does less; (b) a tree that finds
the pairs; (c) a bare cell-list walk; (d) the same as a C pass over 32-bit floats, the hard floor. That the
walks and the tree find the same pairs is checked first.
"""

from __future__ import annotations

import argparse
import platform
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.spatial import cKDTree

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

import simrun  # noqa: E402
from simrun.engine.kernel.look import LOOK_M  # noqa: E402
from simrun.engine.kernel.neighbours import sort_bodies  # noqa: E402
from simrun.engine.run import Race  # noqa: E402
from simrun.tactics.aim import toward  # noqa: E402
from tests.speed.crowds import DENSITIES, crowd, per_m2  # noqa: E402
from tests.speed.floor import Floor  # noqa: E402
from tests.speed.hard_floor import HardFloor  # noqa: E402
from tests.speed.profile_kernel import gather, whole_step  # noqa: E402
from tests.speed.rival import Rival  # noqa: E402

TABLE = Path(__file__).parent / "scale.csv"
COUNTS = (100, 300, 1000, 3000, 10000)
STEPS = 4
"""A look-up every fourth step."""

ROUNDS_S = 3.0
WORKS = ("kernel", "rival", "tree", "floor", "hard_floor", "floor_minded", "own_pick")
HEAD = ",".join(
    ["version,python,density,runners,per_m2,within_look,minded", *(f"{name}_ns" for name in WORKS)]
)


def works(race: Race) -> dict[str, tuple[Callable[[], object], float]]:
    """What is timed in turn, and how many steps of it one call is."""
    bodies = race.bodies.copy()
    x, y = (np.array(bodies[name]) for name in ("x", "y"))
    place = np.stack([x, y], axis=1)
    floor, hard, rival = Floor(x, y), HardFloor(x, y), Rival(bodies)
    ways = [toward(b.x, b.y, b.aim_x, b.aim_y, race.ground, b.cell) for b in bodies]
    to_x, to_y = np.array(ways).T.copy()

    def own_pick() -> int:
        sort_bodies(bodies, race.ground, race.scratch.begins, race.scratch.seen)
        return int(gather(bodies, race.ground, race.scratch))

    def tree() -> int:
        return 2 * len(cKDTree(place).query_pairs(LOOK_M, output_type="ndarray"))

    found = tree()
    assert floor.touch() == found
    # Who is within a ten-thousandth of the look may fall either way in 32 bits.
    assert abs(hard.touch() - found) <= 1e-4 * found + 2
    assert floor.touch_minded(to_x, to_y) == own_pick()
    return {
        "kernel": (whole_step(race), STEPS),
        "rival": (lambda: rival.step(race.step_s), 1),
        "tree": (tree, 1),
        "floor": (floor.touch, 1),
        "hard_floor": (hard.touch, 1),
        "floor_minded": (lambda: floor.touch_minded(to_x, to_y), 1),
        "own_pick": (own_pick, 1),
    }


def least_ns(race: Race) -> dict[str, float]:
    """Nanoseconds a runner and step of each, the least of many rounds in turn.

    In turn, so that what else the machine does meets all of them; the least, because it only adds; time
    of the processor, because who needs longer is interrupted more often.
    """
    saved, timed, least = race.bodies.copy(), works(race), dict[str, float]()
    begin = time.perf_counter()
    while time.perf_counter() - begin < ROUNDS_S or not least:
        for name, (work, steps) in timed.items():
            for _ in range(3):
                start = time.thread_time()
                work()
                took_ns = 1e9 * (time.thread_time() - start) / steps / len(saved)
                least[name] = min(least.get(name, took_ns), took_ns)
    race.bodies[:] = saved
    return least


def row(name: str, count: int) -> dict[str, float]:
    """Everything at one density and count."""
    race = crowd(count, DENSITIES[name])
    floor = Floor(race.bodies["x"], race.bodies["y"])
    sort_bodies(race.bodies, race.ground, race.scratch.begins, race.scratch.seen)
    minded = gather(race.bodies, race.ground, race.scratch) / count
    crowded = {"per_m2": per_m2(race), "within": floor.touch() / count, "minded": minded}
    return crowded | least_ns(race)


def show(name: str, count: int, found: dict[str, float]) -> None:
    """One line: what the kernel takes, how many times as long as the floors, how much sooner than who."""
    kernel = found["kernel"]
    over = [kernel / found[key] for key in ("hard_floor", "floor", "floor_minded", "own_pick")]
    sooner = [found[key] / kernel for key in ("tree", "rival")]
    print(
        f"{name:11s} {count:6d} {found['per_m2']:5.2f} {found['minded']:6.1f} {kernel:8.0f} "
        f"{found['hard_floor']:6.0f}",
        *(f"{ratio:8.2f}" for ratio in over + sooner),
        flush=True,
    )


def line_of(name: str, count: int, found: dict[str, float]) -> str:
    """One line of the CSV."""
    about = f"{simrun.__version__},{platform.python_version()},{name},{count}"
    crowded = f"{found['per_m2']:.2f},{found['within']:.1f},{found['minded']:.1f}"
    return ",".join([about, crowded, *(f"{found[key]:.0f}" for key in WORKS)])


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--csv", action="store_true", help="append to tests/speed/scale.csv")
    words = asked.parse_args()
    print(
        "                   now       kernel   hard     kernel over ...                  ... sooner than"
    )
    print(
        "density   runners /m2  minded  ns    floor     hard    floor   minded own pick    tree   NumPy"
    )
    lines = []
    for name in DENSITIES:
        for count in COUNTS:
            found = row(name, count)
            show(name, count, found)
            lines.append(line_of(name, count, found))
    if words.csv:
        new = not TABLE.exists()
        with TABLE.open("a", encoding="utf-8") as table:
            table.write("".join(f"{line}\n" for line in ([HEAD] if new else []) + lines))


if __name__ == "__main__":
    main()
