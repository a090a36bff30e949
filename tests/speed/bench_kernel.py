"""What does the kernel cost? Run by hand: python tests/speed/bench_kernel.py [--csv]

One run prints a 210-runner start over 1 km, and per runner and step the kernel, a plain all-pairs
NumPy step of the following law alone, and one cKDTree pair search, at the same positions. Machines are
noisy: read the ratios, not the nanoseconds.
"""

from __future__ import annotations

import argparse
import platform
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.spatial import cKDTree

sys.path.insert(0, str(Path(__file__).parents[2]))

import simrun
from simrun.race.field import stand_m
from simrun.race.run import Race, run_race
from simrun.scenario.scenario import Scenario
from simrun.tactics.lines import own_margins
from tests.helpers.worlds import SHARP_TURN, scenario_of

TABLE = Path(__file__).parent / "table.csv"
RUNNERS = 210


def kilometre(folder: Path) -> Scenario:
    """30 teams of 7 on a 75 m line, a funnel, a sharp turn, 1 km in all, 240 s of clock."""
    text = SHARP_TURN.replace("width = 60\n", "width = 75\n").replace("boxes = 24", "boxes = 30")
    text = text.replace('name = "long lane"\nlength = 300', 'name = "long lane"\nlength = 690')
    text = text.replace('limit = "6 min"', "limit = 240")
    text += '\n[[course.checkpoints]]\nname = "1 km"\nat = 1000\n'
    return scenario_of(text, folder)


def started(scenario: Scenario, seed: int) -> Race:
    roster = scenario.roster(seed)
    assert len(roster) == RUNNERS
    stand = stand_m(scenario.start_line, roster)
    return Race(scenario, roster, stand, own_margins(scenario.strip, roster))


def seconds(work: Callable[[], object], times: int) -> float:
    """The shortest of `times` tries."""
    best = np.inf
    for _ in range(times):
        begin = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - begin)
    return float(best)


def all_pairs_step(x: np.ndarray, y: np.ndarray, speed: np.ndarray) -> np.ndarray:
    """Following alone, every pair: the least acceleration behind anybody ahead in the own track."""
    ahead = x[None, :] - x[:, None]
    aside = np.abs(y[None, :] - y[:, None])
    gap = np.maximum(ahead - 0.46, 0.01)
    closing = speed[:, None] - speed[None, :]
    wish = 0.05 + np.maximum(0.0, 0.45 * speed[:, None] + speed[:, None] * closing / 6.4)
    pull = 4.1 * (1 - (wish / gap) ** 2)
    behind = (ahead > 0) & (aside < 0.6) & (ahead < 6.0)
    return np.minimum(4.1 * (1 - speed / 5.0), np.where(behind, pull, np.inf).min(axis=1))


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--csv", action="store_true", help="append to tests/speed/table.csv")
    words = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        scenario = kilometre(Path(folder))
    started(scenario, 1).run()

    field = started(scenario, 2)
    begin = time.perf_counter()
    field.run()
    field_s = time.perf_counter() - begin
    whole_s = seconds(lambda: run_race(scenario, 2, frames=False), 1)
    kernel_ns = 1e9 * field_s / field.steps_done / RUNNERS

    frame = int(60 / scenario.clock.frame_s)
    place = field.tape.position[frame].astype(float)
    speed = field.tape.speed[frame].astype(float)
    pairs_s = seconds(lambda: all_pairs_step(place[:, 0], place[:, 1], speed), 50)
    tree_s = seconds(lambda: cKDTree(place).query_pairs(6.0, output_type="ndarray"), 50)
    rows = [
        ("kernel, whole step", kernel_ns),
        ("all pairs in NumPy, following alone", 1e9 * pairs_s / RUNNERS),
        ("cKDTree pairs within 6 m, search alone", 1e9 * tree_s / RUNNERS),
    ]
    print(f"{RUNNERS} runners, {field.t_s:.0f} s of race, {field.steps_done} steps")
    print(f"field: {field_s:.2f} s; with the alone-runs and without frames: {whole_s:.2f} s")
    for name, cost_ns in rows:
        print(f"{name:40s} {cost_ns:8.0f} ns a runner and step   x {cost_ns / kernel_ns:.2f}")
    if words.csv:
        new = not TABLE.exists()
        with TABLE.open("a", encoding="utf-8") as table:
            if new:
                table.write("version,python,field_s,kernel_ns,all_pairs_ns,tree_ns\n")
            costs = ",".join(f"{cost_ns:.0f}" for _, cost_ns in rows)
            python = platform.python_version()
            table.write(f"{simrun.__version__},{python},{field_s:.3f},{costs}\n")


if __name__ == "__main__":
    main()
