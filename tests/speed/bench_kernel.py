"""What does the kernel cost? Run by hand: python tests/speed/bench_kernel.py [--csv]

One run, one core, no pictures: a start of 210 runners over 1 km. Every ten seconds of the race three
costs are taken at the very same positions: a step of the kernel (everything it does), a step in plain NumPy
that does less (`rival.py`), and one search for all pairs within 6 m by a tree.
Machines are noisy: read the ratios, not the nanoseconds.
"""

from __future__ import annotations

import argparse
import platform
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from scipy.spatial import cKDTree

sys.path.insert(0, str(Path(__file__).parents[2]))

import simrun
from simrun.base.code.compiling import watched
from simrun.engine.kernel.look import LOOK_M
from simrun.engine.run import Race, field_of, run_race
from simrun.scenario.scenario import Scenario
from tests.helpers.worlds import SHARP_TURN, scenario_of
from tests.speed.rival import Rival

TABLE = Path(__file__).parent / "table.csv"
RUNNERS = 210
TARGET_S = 1.5
SAMPLE_EVERY_S = 10
REPEATS = 20


def kilometre(folder: Path) -> Scenario:
    """30 teams of 7 on a 75 m line, a funnel, a sharp turn, 1 km in all, 240 s of clock."""
    text = SHARP_TURN.replace("width = 60\n", "width = 75\n").replace("boxes = 24", "boxes = 30")
    text = text.replace('name = "long lane"\nlength = 300', 'name = "long lane"\nlength = 690')
    text = text.replace('limit = "6 min"', "limit = 240")
    text += '\n[[course.checkpoints]]\nname = "1 km"\nat = 1000\n'
    return scenario_of(text, folder)


def seconds(work: Callable[[], object], times: int = REPEATS) -> float:
    """How long does it take? The mean of so many times, after one that does not count."""
    work()
    begin = time.perf_counter()
    for _ in range(times):
        work()
    return (time.perf_counter() - begin) / times


@dataclass
class Costs:
    """Seconds and runner-steps, added up over the moments that were looked at."""

    kernel_s: float = 0.0
    rival_s: float = 0.0
    tree_s: float = 0.0
    runners: int = 0
    neighbours: list[float] = field(default_factory=list)

    def look(self, race: Race) -> None:
        """Add what a step costs at this moment; the race goes on by one second."""
        here = race.bodies[race.bodies["gone"] == 0].copy()
        place = np.stack([here["x"], here["y"]], axis=1)
        rival = Rival(here)
        self.rival_s += seconds(lambda: rival.step(race.step_s))
        self.tree_s += seconds(lambda: cKDTree(place).query_pairs(LOOK_M, output_type="ndarray"))
        self.neighbours.append(2 * len(cKDTree(place).query_pairs(LOOK_M)) / len(here))
        steps = round(1.0 / race.step_s)
        begin = time.perf_counter()
        race.advance(steps)
        self.kernel_s += (time.perf_counter() - begin) / steps
        self.runners += len(here)

    def rows(self) -> list[tuple[str, float]]:
        """What each costs in nanoseconds a runner and step."""
        costs = (self.kernel_s, self.rival_s, self.tree_s)
        return [(n, 1e9 * cost / self.runners) for n, cost in zip(NAMES, costs, strict=True)]


NAMES = [
    "kernel, the whole step",
    "NumPy over a tree's pairs, following alone",
    "tree, search alone, pairs within 6 m",
]


def compare(scenario: Scenario, seed: int) -> Costs:
    """The three costs at the same positions, every ten seconds of one race."""
    race, costs = field_of(scenario, seed), Costs()
    race.advance(round(SAMPLE_EVERY_S / race.step_s))
    while not race.is_over:
        costs.look(race)
        race.advance(round((SAMPLE_EVERY_S - 1) / race.step_s))
    return costs


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--csv", action="store_true", help="append to tests/speed/table.csv")
    words = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        scenario = kilometre(Path(folder))
    begin = time.perf_counter()
    with watched() as compiling:
        first = field_of(scenario, 1)
        first.advance(1)
    first_s = time.perf_counter() - begin
    compare(scenario, 1)

    race = field_of(scenario, 2)
    assert len(race.roster) == RUNNERS
    begin = time.perf_counter()
    race.run()
    field_s = time.perf_counter() - begin
    begin = time.perf_counter()
    run_race(scenario, 2)
    whole_s = time.perf_counter() - begin
    costs = compare(scenario, 2)
    show(race, (first_s, field_s, whole_s), compiling.seconds > 0, costs)
    if words.csv:
        append((field_s, whole_s), costs)


def show(race: Race, took_s: tuple[float, float, float], cold: bool, costs: Costs) -> None:
    first_s, field_s, whole_s = took_s
    met = "met" if field_s < TARGET_S else "MISSED"
    print(f"{RUNNERS} runners over 1 km: {race.t_s:.0f} s of race, {race.steps_done} steps")
    print(f"first step            {first_s:8.2f} s, {'compiled' if cold else 'from the cache'}")
    print(f"the field             {field_s:8.2f} s, target {TARGET_S} s: {met}")
    print(f"with all alone-runs   {whole_s:8.2f} s")
    moments, mean = len(costs.neighbours), float(np.mean(costs.neighbours))
    print(f"at {moments} moments of the race, {mean:.1f} others within {LOOK_M:.0f} m on average:")
    kernel_ns = costs.rows()[0][1]
    for name, cost_ns in costs.rows():
        ratio = cost_ns / kernel_ns
        print(f"  {name:38s} {cost_ns:7.0f} ns a runner and step   x {ratio:.2f}")


def append(took_s: tuple[float, float], costs: Costs) -> None:
    """One more line in the table."""
    new = not TABLE.exists()
    with TABLE.open("a", encoding="utf-8") as table:
        if new:
            table.write("version,python,field_s,whole_s,kernel_ns,rival_ns,tree_ns\n")
        figures = [f"{value:.3f}" for value in took_s] + [f"{ns:.0f}" for _, ns in costs.rows()]
        table.write(",".join([simrun.__version__, platform.python_version(), *figures]) + "\n")


if __name__ == "__main__":
    main()
