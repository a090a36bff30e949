"""Where does a step's time go? Run by hand: python tests/speed/profile_kernel.py

Every stage of the kernel is run by itself over a whole crowd, at the same moment, again and again. A
table: nanoseconds a runner and step. Looking for the way and looking up are done every fourth step.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from simrun.engine.kernel import going, look, neighbours, step, touch, walls  # noqa: E402
from simrun.engine.kernel.wish import wished_speed_m_s  # noqa: E402
from simrun.engine.run import Race, field_of  # noqa: E402
from simrun.scenario.reader import read  # noqa: E402
from simrun.tactics.aim import toward  # noqa: E402
from tests.speed.crowds import DENSITIES, crowd, seconds  # noqa: E402

COUNT = 3000
SHIPPED, AT_S = "ferry_meadow", (30, 120)
COPYING = ("steer", "move", "walls", "touch")
"""Stages that change the bodies, and so are run on a copy of them."""

compiled = numba.njit(error_model="numpy")


@compiled
def wish(bodies: Any, ways: Any, ground: Any, settings: Any) -> None:
    for i in range(len(bodies)):
        me = bodies[i]
        me.wished_m_s, _ = wished_speed_m_s(me, ways.wander[i], ways.front_m_s, ground, settings)


@compiled
def look_ahead(bodies: Any, ways: Any, ground: Any, settings: Any) -> None:
    for i in range(len(bodies)):
        left, right = ways.margin_left[i], ways.margin_right[i]
        step.look_ahead(bodies[i], left, right, ways, ground, settings)


@compiled
def gather(bodies: Any, ground: Any, scratch: Any) -> int:
    total = 0
    for i in range(len(bodies)):
        me = bodies[i]
        to_x, to_y = toward(me.x, me.y, me.aim_x, me.aim_y, ground, me.cell)
        total += look.gather(i, me, to_x, to_y, look.BEHIND_M, ground, scratch)
    return total


@compiled
def decide(
    look_up: bool, total: int, bodies: Any, ways: Any, ground: Any, settings: Any, scratch: Any
) -> None:
    for i in range(len(bodies)):
        step.decide(
            i,
            0.05,
            look_up,
            total,
            bodies,
            ways.wander[i],
            ways.front_m_s,
            ground,
            settings,
            scratch,
            0.0,
            ways.own,
        )


@compiled
def steer(bodies: Any, settings: Any) -> None:
    for i in range(len(bodies)):
        me = bodies[i]
        step.steer(me, me.face_x, me.face_y, me.along, 0.0, 0.05, settings)


@compiled
def move(bodies: Any) -> None:
    for i in range(len(bodies)):
        going.move(bodies[i], 0.05)


@compiled
def hold(bodies: Any, ground: Any) -> None:
    for i in range(len(bodies)):
        walls.hold_inside(bodies[i], ground, 0.3)


@compiled
def touching(bodies: Any, pairs: Any, count: int, ground: Any) -> None:
    touch.lose_approach(bodies, pairs, count, 0.3)
    touch.part_bodies(bodies, pairs, count, 4, ground)
    touch.largest_overlap(bodies, pairs, count)


def stages(race: Race) -> dict[str, Callable[[], object]]:
    """What can be run by itself, by name."""
    ground, ways, settings, scratch = race.ground, race.ways, race.settings, race.scratch
    bodies = race.bodies.copy()
    lists = (scratch.begins, scratch.seen)
    total = neighbours.sort_bodies(bodies, ground, *lists)
    pairs = neighbours.close_pairs(*lists, total, scratch.pairs)
    return {
        "cell list": lambda: neighbours.sort_bodies(bodies, ground, *lists),
        "pairs that may touch": lambda: neighbours.close_pairs(*lists, total, scratch.pairs),
        "look for the way": lambda: look_ahead(bodies, ways, ground, settings),
        "wished speed": lambda: wish(bodies, ways, ground, settings),
        "gather the neighbours": lambda: gather(bodies, ground, scratch),
        "decide, no look-up": lambda: decide(False, total, bodies, ways, ground, settings, scratch),
        "decide, look-up": lambda: decide(True, total, bodies, ways, ground, settings, scratch),
        "steer": lambda: steer(bodies.copy(), settings),
        "move": lambda: move(bodies.copy()),
        "walls": lambda: hold(bodies.copy(), ground),
        "touch": lambda: touching(bodies.copy(), scratch.pairs, pairs, ground),
    }


def races() -> dict[str, Race]:
    """A column each: the crowds, and a shipped race in its first mile and strung out on its lap."""
    found = {f"{name}": crowd(COUNT, density) for name, density in DENSITIES.items()}
    for at_s in AT_S:
        race = field_of(read(ROOT / "scenarios" / f"{SHIPPED}.toml"), 1)
        race.advance(round(at_s / race.step_s))
        found[f"at {at_s} s"] = race
    return found


def whole_step(race: Race) -> Callable[[], object]:
    """Four steps, one of them with a look-up, always from the same moment."""
    saved, done = race.bodies.copy(), race.steps_done

    def work() -> None:
        race.bodies[:], race.steps_done = saved, done
        race.advance(4)

    return work


def column(race: Race) -> dict[str, float]:
    """Nanoseconds a runner and step of every stage; what copying the bodies takes is taken off."""
    per = 1e9 / len(race.roster)
    copy_s = seconds(lambda: race.bodies.copy(), 4)
    rows = {}
    for stage, work in stages(race).items():
        rows[stage] = per * (seconds(work, 4) - (copy_s if stage in COPYING else 0.0))
    rows["a whole step"] = per * seconds(whole_step(race), 1) / 4
    return rows


def main() -> None:
    """One column a crowd."""
    table = {name: column(race) for name, race in races().items()}
    print(f"{'ns a runner and step':24s}", *(f"{name:>11s}" for name in table))
    for stage in next(iter(table.values())):
        print(f"{stage:24s}", *(f"{rows[stage]:11.0f}" for rows in table.values()))


if __name__ == "__main__":
    main()
