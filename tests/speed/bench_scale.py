"""The kernel beside its rivals and the floor. Run by hand: python tests/speed/bench_scale.py [--csv]

One run: crowds of 100 to 10000 runners at three densities on a straight; for each, one moment of the race
and at that moment all of: a step of the kernel; (a) the same step by mesa's agents; (b) the same laws in
NumPy over pairs; (c) a tree that finds the pairs; (d) the floors. That they do the same is checked first.
"""

from __future__ import annotations

import argparse
import os
import pickle
import platform
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import numpy as np
from scipy.spatial import cKDTree

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

import simrun  # noqa: E402
from simrun.engine.kernel.look import LOOK_M  # noqa: E402
from simrun.engine.kernel.neighbours import sort_bodies  # noqa: E402
from simrun.engine.run import Race  # noqa: E402
from simrun.tactics.aim import toward  # noqa: E402
from tests.speed import pairs  # noqa: E402
from tests.speed.crowds import DENSITIES, crowd, per_m2  # noqa: E402
from tests.speed.floor import Floor  # noqa: E402
from tests.speed.profile_kernel import gather, whole_step  # noqa: E402

TABLE = Path(__file__).parent / "scale.csv"
COUNTS = (100, 300, 1000, 3000, 10000)
AGENTS_UP_TO = 3000
"""More agents than this are not waited for."""

STEPS = 4
"""A look-up every fourth step."""

ROUNDS_S = 3.0
MOVED = ("x", "y", "speed", "heading_x", "heading_y")
CARRIED = (*MOVED, "reserve_m", "saved_share", "kept_m", "wait_s", "off", "aim_x", "aim_y")
HEAD = (
    "version,python,density,runners,per_m2,within_look,minded,kernel_ns,agents_ns,pairs_ns,tree_ns,"
    "floor_ns,floor_minded_ns,own_pick_ns"
)


def handed_over(race: Race) -> SimpleNamespace:
    """The moment, in arrays that a rival can take."""
    return SimpleNamespace(
        bodies=np.array(race.bodies),
        ground=np.array(race.ground),
        ways=race.ways,
        wander=race.ways.wander,
        settings=race.settings,
        step_s=race.step_s,
        at=race.steps_done,
        steps=STEPS,
    )


def agents_ns(race: Race, day: SimpleNamespace) -> float:
    """Nanoseconds a runner and step of mesa's agents, whose end must be the kernel's but for rounding."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "state.pkl"
        path.write_bytes(pickle.dumps(day))
        subprocess.run(
            [sys.executable, "-m", "tests.speed.agents", str(path)],
            cwd=ROOT,
            env={**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": str(ROOT)},
            check=True,
        )
        took_s, end = pickle.loads(path.with_suffix(".out").read_bytes())
    whole_step(race)()
    # Not always to the last bit: plain Python's math.hypot rounds otherwise than the compiled one.
    moved = np.stack([race.bodies[name] for name in MOVED], axis=1)
    np.testing.assert_allclose(end, moved, rtol=1e-12, atol=1e-12)
    put_back(race, day)
    return 1e9 * float(took_s) / STEPS / len(race.bodies)


def put_back(race: Race, day: SimpleNamespace) -> None:
    """The race as it was at that moment."""
    race.bodies[:], race.steps_done = day.bodies, day.at


def columns_for(race: Race, day: SimpleNamespace) -> pairs.Columns:
    """The moment for NumPy; where the steps lead it must be where the kernel's lead."""
    me = pairs.columns_of(day.bodies)
    end = pairs.run(me, day)
    whole_step(race)()
    for name in CARRIED:
        np.testing.assert_allclose(end[name], race.bodies[name], rtol=1e-9, atol=1e-9, err_msg=name)
    put_back(race, day)
    return me


def works(race: Race, day: SimpleNamespace) -> dict[str, tuple[Callable[[], object], float]]:
    """What is timed in turn, and how many steps of it one call is."""
    me = columns_for(race, day)
    place = np.stack([me["x"], me["y"]], axis=1)
    floor = Floor(me["x"], me["y"])
    cells = day.bodies["cell"]
    ways = [
        toward(*four, race.ground, cell)
        for *four, cell in zip(
            me["x"], me["y"], me["aim_x"], me["aim_y"], cells.tolist(), strict=True
        )
    ]
    to_x, to_y = np.array(ways).T.copy()
    bodies = race.bodies.copy()
    bodies["aim_x"], bodies["aim_y"] = me["aim_x"], me["aim_y"]

    def own_pick() -> int:
        sort_bodies(bodies, race.ground, race.scratch.begins, race.scratch.seen)
        return int(gather(bodies, race.ground, race.scratch))

    def tree() -> int:
        return 2 * len(cKDTree(place).query_pairs(LOOK_M, output_type="ndarray"))

    assert floor.touch() == tree()
    assert floor.touch_minded(to_x, to_y) == own_pick()
    return {
        "kernel": (whole_step(race), STEPS),
        "pairs": (lambda: pairs.run(me, day), STEPS),
        "tree": (tree, 1),
        "floor": (floor.touch, 1),
        "floor_minded": (lambda: floor.touch_minded(to_x, to_y), 1),
        "own_pick": (own_pick, 1),
    }


def least_ns(race: Race, day: SimpleNamespace) -> dict[str, float]:
    """Nanoseconds a runner and step of each, the least of many rounds in turn.

    In turn, so that what else the machine does meets all of them; the least, because it only adds; time
    of the processor, because who needs longer is interrupted more often.
    """
    timed, least = works(race, day), {}
    begin = time.perf_counter()
    while time.perf_counter() - begin < ROUNDS_S or not least:
        for name, (work, steps) in timed.items():
            for _ in range(3):
                start = time.thread_time()
                work()
                took_ns = 1e9 * (time.thread_time() - start) / steps / len(day.bodies)
                least[name] = min(least.get(name, took_ns), took_ns)
    put_back(race, day)
    return least


def row(name: str, count: int) -> dict[str, float]:
    """Everything at one density and count."""
    race = crowd(count, DENSITIES[name])
    day = handed_over(race)
    least = least_ns(race, day)
    least["agents"] = agents_ns(race, day) if count <= AGENTS_UP_TO else float("nan")
    floor = Floor(day.bodies["x"], day.bodies["y"])
    sort_bodies(race.bodies, race.ground, race.scratch.begins, race.scratch.seen)
    minded = gather(race.bodies, race.ground, race.scratch) / count
    return {"per_m2": per_m2(race), "within": floor.touch() / count, "minded": minded, **least}


def show(name: str, count: int, found: dict[str, float]) -> None:
    """One line: what the kernel takes, and how many times as long as the floors, how much sooner than who."""
    kernel = found["kernel"]
    print(
        f"{name:11s} {count:6d} {found['per_m2']:5.2f} {found['minded']:6.1f} {kernel:8.0f}"
        f" {kernel / found['floor']:8.2f} {kernel / found['floor_minded']:8.2f}"
        f" {kernel / found['own_pick']:8.2f} {found['tree'] / kernel:8.2f}"
        f" {found['pairs'] / kernel:8.1f} {found['agents'] / kernel:8.0f}",
        flush=True,
    )


def line_of(name: str, count: int, found: dict[str, float]) -> str:
    """One line of the CSV."""
    about = f"{simrun.__version__},{platform.python_version()},{name},{count}"
    crowded = f"{found['per_m2']:.2f},{found['within']:.1f},{found['minded']:.1f}"
    order = ("kernel", "agents", "pairs", "tree", "floor", "floor_minded", "own_pick")
    costs = ["" if np.isnan(found[key]) else f"{found[key]:.0f}" for key in order]
    return ",".join([about, crowded, *costs])


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--csv", action="store_true", help="append to tests/speed/scale.csv")
    words = asked.parse_args()
    print("                   now           kernel  kernel over ...             ... over kernel")
    print(
        "density   runners /m2  minded  ns a step   floor   minded  own pick    tree    NumPy   agents"
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
