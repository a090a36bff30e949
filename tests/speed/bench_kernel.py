"""What does the kernel cost? Run by hand: python tests/speed/bench_kernel.py [--csv]

One run, one core, no pictures: a start of 210 runners over 1 km. Every ten seconds of the race three
costs are taken at the very same positions: a step of the kernel (everything it does), a step of its
following law alone over all pairs in NumPy, and one search for all pairs within 6 m by a tree.
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
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

sys.path.insert(0, str(Path(__file__).parents[2]))

import simrun
from simrun.base.compiled import watched
from simrun.engine.kernel.look import LOOK_ASIDE_M, LOOK_M, follow
from simrun.engine.kernel.wish import free_along
from simrun.engine.run import Race, field_of, run_race
from simrun.laws.settings import Settings
from simrun.scenario.scenario import Scenario
from simrun.state.arrays import NEAR
from tests.helpers.worlds import SHARP_TURN, scenario_of

Array = NDArray[np.float64]

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


def seen_by_all(here: Any) -> dict[str, Array]:
    """How everybody sees everybody along the own heading: (N, N) each, the observer's row."""
    dx, dy = here["x"] - here["x"][:, None], here["y"] - here["y"][:, None]
    to_x, to_y = here["heading_x"][:, None], here["heading_y"][:, None]
    vx, vy = here["speed"] * here["heading_x"], here["speed"] * here["heading_y"]
    bodies_m = here["radius_m"] + here["radius_m"][:, None]
    ahead, aside = dx * to_x + dy * to_y, dx * to_y - dy * to_x
    return {"ahead": ahead, "aside": aside, "speed": vx * to_x + vy * to_y, "bodies_m": bodies_m}


def follow_all_pairs(here: Any, settings: Settings, step_s: float) -> Array:
    """The acceleration that following leaves to each of N runners, every pair looked at: (N,)."""
    seen = seen_by_all(here)
    speed, wished = here["speed"][:, None], here["wished_m_s"][:, None]
    constant = np.where(wished > speed, settings.start_constant_s, settings.steer_time_s)
    free = (wished - speed) * (1.0 - np.exp(-step_s / constant)) / step_s
    free = np.clip(free, -settings.braking_limit_m_s2, settings.acceleration_limit_m_s2)
    pull = np.minimum(wished / settings.start_constant_s, settings.acceleration_limit_m_s2)
    pull = np.maximum(pull, 0.1)
    aside, bodies_m = np.abs(seen["aside"]), seen["bodies_m"]
    clear = bodies_m + settings.sway_m + settings.sway_per_speed_s * speed
    weight = np.clip((clear - aside) / (clear - 0.5 * bodies_m), 0.0, 1.0)
    gap = seen["ahead"] - np.sqrt(bodies_m**2 - np.minimum(aside, 0.9 * bodies_m) ** 2)
    closing = speed * (speed - seen["speed"])
    braking = 2.0 * np.sqrt(pull * settings.comfortable_braking_m_s2)
    wish = np.maximum(0.0, settings.following_time_s * speed + closing / braking)
    ratio = (settings.standstill_gap_m + wish) / np.maximum(gap, 0.01)
    behind = np.maximum(pull * (1.0 - ratio**2), -settings.braking_limit_m_s2)
    near = (seen["ahead"] > 0.0) & (seen["ahead"] ** 2 + aside**2 <= LOOK_M**2)
    near &= (weight > 0.0) & (aside <= LOOK_ASIDE_M)
    left = np.where(near, (1.0 - weight) * free + weight * behind, np.inf)
    return np.minimum(free[:, 0], left.min(axis=1))


def follow_kernel(here: Any, settings: Settings, step_s: float) -> Array:
    """The same by the kernel's own function, runner by runner: shows that the law is the same."""
    seen, result = seen_by_all(here), np.empty(len(here))
    for i in range(len(here)):
        ahead, aside = seen["ahead"][i], seen["aside"][i]
        who = (ahead > 0.0) & (np.hypot(ahead, aside) <= LOOK_M) & (np.abs(aside) <= LOOK_ASIDE_M)
        near = np.zeros(who.sum() + 1, dtype=NEAR)
        near["ahead"][:-1], near["aside"][:-1] = ahead[who], aside[who]
        near["speed_ahead"][:-1], near["bodies_m"][:-1] = (
            seen["speed"][i, who],
            seen["bodies_m"][i, who],
        )
        near["further"] = 1.0
        speed, wished = float(here["speed"][i]), float(here["wished_m_s"][i])
        free = free_along(speed, wished, settings, step_s)
        result[i] = follow(speed, wished, free, 1.0, 0.0, int(who.sum()), near, settings)[0]
    return result


@dataclass
class Costs:
    """Seconds and runner-steps, added up over the moments that were looked at."""

    kernel_s: float = 0.0
    pairs_s: float = 0.0
    tree_s: float = 0.0
    runners: int = 0
    neighbours: list[float] = field(default_factory=list)

    def look(self, race: Race) -> None:
        """Add what a step costs at this moment; the race goes on by one second."""
        here = race.bodies[race.bodies["gone"] == 0].copy()
        place = np.stack([here["x"], here["y"]], axis=1)
        self.pairs_s += seconds(lambda: follow_all_pairs(here, race.settings, race.step_s))
        self.tree_s += seconds(lambda: cKDTree(place).query_pairs(LOOK_M, output_type="ndarray"))
        self.neighbours.append(2 * len(cKDTree(place).query_pairs(LOOK_M)) / len(here))
        steps = round(1.0 / race.step_s)
        begin = time.perf_counter()
        race.advance(steps)
        self.kernel_s += (time.perf_counter() - begin) / steps
        self.runners += len(here)

    def rows(self) -> list[tuple[str, float]]:
        """What each costs in nanoseconds a runner and step."""
        costs = (self.kernel_s, self.pairs_s, self.tree_s)
        return [(n, 1e9 * cost / self.runners) for n, cost in zip(NAMES, costs, strict=True)]


NAMES = [
    "kernel, the whole step",
    "NumPy, following alone, all pairs",
    "tree, search alone, pairs within 6 m",
]


def compare(scenario: Scenario, seed: int) -> Costs:
    """The three costs at the same positions, every ten seconds of one race."""
    race, costs = field_of(scenario, seed), Costs()
    race.advance(round(SAMPLE_EVERY_S / race.step_s))
    agreed = follow_all_pairs(race.bodies, race.settings, race.step_s)
    np.testing.assert_allclose(agreed, follow_kernel(race.bodies, race.settings, race.step_s))
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
            table.write("version,python,field_s,whole_s,kernel_ns,all_pairs_ns,tree_ns\n")
        figures = [f"{value:.3f}" for value in took_s] + [f"{ns:.0f}" for _, ns in costs.rows()]
        table.write(",".join([simrun.__version__, platform.python_version(), *figures]) + "\n")


if __name__ == "__main__":
    main()
