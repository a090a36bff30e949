"""Do both engines agree, and how fast is each? Run on a machine with a card; prints the tables of the README.

    python -m tests.agreement.on_a_card [SEEDS] [RACES] [SCENARIO ...]

SEEDS races of every scenario on both engines, then RACES of each on the card alone for its speed.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np

from simrun.base.compiled import compiled
from simrun.engine.batch.packing import packed_races, unpack_races
from simrun.engine.field import stand_m
from simrun.engine.kernel.walls import overshoot_m
from simrun.engine.run import Race, alone_runs, field_of
from simrun.scenario.reader import read
from simrun.trials.workers import cores

ROOT = Path(__file__).parents[2]
SCENARIOS = ("dual_meet", "brindle_fen", "ferry_meadow", "ostrel_common", "sallow_heath")
EARLY_STEPS, SHAPE_STEPS, CHUNK_S = 100, 2000, 5.0
SHAPES = (1, 2, None)


@compiled
def furthest_out_m(bodies: Any, ground: Any, runners: int) -> float:
    """How far beyond the edges is the one furthest out? Negative: inside."""
    most = -1e9
    for i in range(runners):
        me = bodies[i]
        if me.gone == 0:
            most = max(most, overshoot_m(me.x, me.y, me.cell, ground))
    return most


def field(name: str, seed: int) -> Race:
    """One race about to start."""
    return field_of(read(ROOT / "scenarios" / f"{name}.toml"), seed, frames=False)


def alone_ways(race: Race, box: int = 1) -> Sequence[Race]:
    """Its alone-runs about to start; the best box is not looked for."""
    roster, day = race.roster, race.scenario
    own = (race.ways.margin_left, race.ways.margin_right)
    return alone_runs(day, roster, stand_m(day.start_line, roster), own, race.settings, box).ways


def kernel_race(name: str, seed: int) -> dict[str, Any]:
    """One race by the kernel: places early on, crossings, overlap, furthest out; and its seconds."""
    race = field(name, seed)
    chunk, out = round(CHUNK_S / race.step_s), -1e9
    race.advance(EARLY_STEPS)
    early, took, began = race.bodies.copy(), 0.0, time.perf_counter()
    while not race.is_over:
        race.advance(chunk - race.steps_done % chunk)
        out = max(out, furthest_out_m(race.bodies, race.ground, len(race.roster)))
    took = time.perf_counter() - began
    found = {"crossing_s": race.tape.crossing_s, "overlap": race.tape.overlap[0], "out_m": out}
    return found | {"early": np.asarray(early), "seconds": took, "stood_s": race.watch.stood_s}


def kernel_alone(name: str, seed: int) -> tuple[list[Any], float]:
    """The alone-runs of one race by the kernel, and their seconds."""
    ways = alone_ways(field(name, seed))
    began = time.perf_counter()
    times = [way.run().tape.crossing_s for way in ways]
    return times, time.perf_counter() - began


def cores_agree(name: str, seconds: float) -> str:
    """Are the phases on the processor equal to the kernel to the bit?"""
    from simrun.engine.batch.on_cores import OnCores

    races, twins = [[field(name, seed) for seed in (1, 2)] for _ in range(2)]
    steps = round(seconds / races[0].step_s)
    for race in races:
        race.advance(steps)
    going = OnCores(packed_races(twins), races[0].step_s, False)
    going.advance(0, steps)
    unpack_races(going.fetched(), twins)
    for race, twin in zip(races, twins, strict=True):
        for part in set(race.bodies.dtype.names) - {"bucket"}:
            if not np.array_equal(race.bodies[part], twin.bodies[part], equal_nan=True):
                return f"{name}: {part} differs"
        if not np.array_equal(race.tape.crossing_s, twin.tape.crossing_s, equal_nan=True):
            return f"{name}: crossings differ"
        if race.tape.overlap[0] != twin.tape.overlap[0]:
            return f"{name}: overlap differs"
    return f"{name}: equal to the bit, {steps} steps"


class Card:
    """Batches on the card, with what they took."""

    def __init__(self) -> None:
        from simrun.engine.batch.on_card import OnCard

        self.hands = OnCard

    def early(self, races: Sequence[Race], shape: int | None, steps: int = EARLY_STEPS) -> Any:
        """Everybody after so many steps."""
        going = self.hands(packed_races(races), races[0].step_s, False, shape)
        going.advance(0, steps)
        return going.fetched()

    def whole(
        self, races: Sequence[Race], shape: int | None = None, watched: bool = False
    ) -> tuple[Any, float, float]:
        """The batch at its end, the seconds it took, and who was furthest out (where watched)."""
        began = time.perf_counter()
        going = self.hands(packed_races(races), races[0].step_s, races[0].alone, shape)
        loaded, out = time.perf_counter(), -1e9
        chunk = round(CHUNK_S / races[0].step_s)
        for first in range(0, max(race.last_step for race in races), chunk):
            over = going.advance(first, chunk)
            if watched:
                batch = going.fetched()
                for lot, race in zip(batch.lots, races, strict=True):
                    mine = batch.bodies[lot["bodies_at"] : lot["bodies_at"] + lot["bodies"]]
                    out = max(out, furthest_out_m(mine, race.ground, len(race.roster)))
            if over == len(races):
                break
        found = going.fetched()
        self.loading = loaded - began
        return found, time.perf_counter() - loaded, out


def rows_of(batch: Any, n: int) -> slice:
    """The rows of the runners of race n."""
    lot = batch.lots[n]
    return slice(int(lot["runners_at"]), int(lot["runners_at"] + lot["runners"]))


def agreement(name: str, seeds: int, card: Card, pool: ProcessPoolExecutor) -> None:
    """Print how near the engines are in one scenario."""
    waiting: list[Future[Any]] = [
        pool.submit(kernel_race, name, seed) for seed in range(1, seeds + 1)
    ]
    alone_waiting = pool.submit(kernel_alone, name, 1)
    races = list(pool.map(field, [name] * seeds, range(1, seeds + 1), chunksize=4))
    some = races[:8]
    early = card.early(some, None)
    shaped = [card.early(some, shape, SHAPE_STEPS) for shape in SHAPES]
    bits = all(one.bodies.tobytes() == shaped[0].bodies.tobytes() for one in shaped)
    whole, _, out = card.whole(races, watched=True)
    alone, _, _ = card.whole(alone_ways(races[0]))
    kernel = [one.result() for one in waiting]
    near = 0.0
    for n, race in enumerate(some):
        lot, runners = early.lots[n], len(race.roster)
        mine = early.bodies[lot["bodies_at"] : lot["bodies_at"] + runners]
        theirs = kernel[n]["early"][:runners]
        near = max(near, *(np.abs(mine[axis] - theirs[axis]).max() for axis in ("x", "y")))
    gaps = []
    for n in range(seeds):
        mine = whole.crossing_s[rows_of(whole, n)]
        gaps.append(np.nanmean(mine - kernel[n]["crossing_s"], axis=0))
    gap = np.array(gaps)
    mean, error = gap.mean(axis=0), gap.std(axis=0, ddof=1) / np.sqrt(seeds)
    theirs_alone, _ = alone_waiting.result()
    apart = np.nanmax(np.abs(alone.crossing_s - np.concatenate(theirs_alone)))
    overlap = max(k["overlap"] for k in kernel)
    worst = np.nanmax(np.abs(mean) / np.maximum(error, 1e-12))
    print(
        f"{name}: step {EARLY_STEPS} {near:.1e} m; same bits in shapes {SHAPES}: {bits}; alone {apart:.1e} s;"
        f" overlap card {whole.overlap.max():.3f} kernel {overlap:.3f};"
        f" out card {out:.2e} kernel {max(k['out_m'] for k in kernel):.2e} m; worst {worst:.2f} errors",
        flush=True,
    )
    for k in range(len(mean)):
        print(f"   mark {k + 1}: {mean[k]:+.4f} +/- {error[k]:.4f} s", flush=True)
    print(
        f"   kernel seconds a race, {cores()} at a time: {np.mean([k['seconds'] for k in kernel]):.2f}"
    )


def speed(name: str, count: int, card: Card, pool: ProcessPoolExecutor) -> None:
    """Print how many races a second: on the card, on all cores and on two."""
    began = time.perf_counter()
    races = list(pool.map(field, [name] * count, range(1, count + 1), chunksize=8))
    made = time.perf_counter() - began
    _, took, _ = card.whole(races)
    load = card.loading
    ways = [way for race in races[: count // 2] for way in alone_ways(race)]
    _, alone, _ = card.whole(ways)
    many = 4 * cores()
    began = time.perf_counter()
    list(pool.map(kernel_race, [name] * many, range(1, many + 1)))
    all_cores = many / (time.perf_counter() - began)
    with ProcessPoolExecutor(2, get_context("spawn")) as two:
        list(two.map(kernel_race, ["dual_meet"] * 4, range(4)))
        began = time.perf_counter()
        list(two.map(kernel_race, [name] * 6, range(1, 7)))
        two_cores = 6 / (time.perf_counter() - began)
    print(
        f"| {name} | {len(races[0].roster)} | {count / took:.0f} | {count / 2 / alone:.0f} | "
        f"{1 / (took / count + 2 * alone / count):.0f} | {all_cores:.2f} ({cores()}) | "
        f"{two_cores:.2f} | loading {load:.2f} s, set up {made:.2f} s |",
        flush=True,
    )


def main(words: Sequence[str]) -> None:
    """Read the words above."""
    seeds, count = int(words[0]), int(words[1])
    names = tuple(words[2:]) or SCENARIOS
    began = time.perf_counter()
    with ProcessPoolExecutor(cores(), get_context("spawn")) as pool:
        warm = pool.submit(kernel_race, "dual_meet", 1)
        proof = pool.submit(cores_agree, "dual_meet", 30.0)
        card = Card()
        some = [field("dual_meet", seed) for seed in (1, 2)]
        card.whole(some)
        card.whole(alone_ways(some[0]))
        print(f"compiled for the card {time.perf_counter() - began:.0f} s", flush=True)
        warm.result()
        print("phases", proof.result(), f"{time.perf_counter() - began:.0f} s", flush=True)
        proofs = [pool.submit(cores_agree, name, 20.0) for name in names]
        for name in names:
            agreement(name, seeds, card, pool)
        for one in proofs:
            print("phases", one.result(), flush=True)
        head = "races/s, alone-runs/s and both/s on the card | races/s on all cores | on two"
        print(f"| scenario | runners | {head} | |")
        for name in names:
            speed(name, count, card, pool)
    print(f"all {time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main(sys.argv[1:])
