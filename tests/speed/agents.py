"""The rival (a): one mesa agent a runner, the same laws called agent by agent in plain Python.

Runs in a process of its own with the compiler switched off, so that a law is a Python function and an
agent is handed to it as it is: `python -m tests.speed.agents state.pkl`. Neighbours come from
mesa's continuous space. Everything a step does is done, and the end is the kernel's but for rounding.
"""

from __future__ import annotations

import math
import pickle
import sys
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import mesa
import numpy as np
from mesa.space import ContinuousSpace

from simrun.engine.kernel import look, step, touch
from simrun.engine.kernel.neighbours import CLOSE_M, stays
from simrun.engine.kernel.walls import hold_inside
from simrun.state.arrays import BODY

FAR_M = 1e5


class Agent(mesa.Agent):
    """A runner with everything that a record of state.arrays.BODY holds."""

    def __init__(self, model: Crowd, number: int, record: Any) -> None:
        super().__init__(model)
        self.number = number
        for name in BODY.names or ():
            setattr(self, name, record[name].item())
        model.space.place_agent(self, (self.x, self.y))

    def look(self, look_up: bool) -> None:
        """Decide, as the kernel does; the neighbours are asked of the space."""
        day = self.model.day
        if look_up:
            step.look_ahead(self.number, self, day.ways, day.ground, day.settings)
        step.decide(
            self.number,
            day.step_s,
            look_up,
            len(self.model.runners),
            self.model.runners,
            day.ways.wander[self.number],
            day.ground,
            day.settings,
            self.model.scratch,
        )

    def go(self) -> None:
        """Carry it out."""
        day = self.model.day
        step.spend(self, day.step_s, day.ground, day.settings)
        step.move(self, day.step_s)
        hold_inside(self, day.ground, day.settings.contact_friction)


class Crowd(mesa.Model):
    """The crowd of `day`: a state that the benchmark handed over."""

    def __init__(self, day: SimpleNamespace) -> None:
        super().__init__(rng=1)
        self.day, self.at = day, day.at
        self.space = ContinuousSpace(FAR_M, FAR_M, False, -FAR_M, -FAR_M)
        self.scratch = SimpleNamespace(
            near=[], worth=np.zeros(2 * day.settings.tracks_a_side + 1), space=self.space
        )
        self.runners = [Agent(self, i, record) for i, record in enumerate(day.bodies)]

    def step(self) -> None:
        """One tick: all look, all go, those in touch are parted."""
        day, runners = self.day, self.runners
        look_up = self.at % max(1, int(round(step.LOOK_UP_S / day.step_s))) == 0
        pairs = self.close_pairs()
        self.agents.do("look", look_up)
        self.agents.do("go")
        if len(pairs):
            touch.lose_approach(runners, pairs, len(pairs), day.settings.contact_friction)
            sweeps = day.settings.contact_sweeps
            touch.part_bodies(runners, pairs, len(pairs), sweeps, day.ground)
            touch.largest_overlap(runners, pairs, len(pairs))
        for agent in runners:
            self.space.move_agent(agent, (agent.x, agent.y))
        self.at += 1

    def close_pairs(self) -> Any:
        """Every pair that may touch, once."""
        pairs = [
            (me.number, you.number)
            for me in self.runners
            for you in self.space.get_neighbors(me.pos, CLOSE_M)
            if you.number > me.number and math.dist(me.pos, you.pos) < CLOSE_M
        ]
        return np.array(pairs, dtype=np.int64).reshape(-1, 2)


def gather_from_space(i: int, me: Any, to_x: float, to_y: float, ground: Any, scratch: Any) -> int:
    """What look.gather does, with neighbours from mesa's space; far-off ground there is none here."""
    cut = ground[me.cell + 1]
    near = scratch.near
    near.clear()
    for you in scratch.space.get_neighbors(me.pos, look.LOOK_M):
        dx, dy = you.x - me.x, you.y - me.y
        ahead, aside = dx * to_x + dy * to_y, dx * to_y - dy * to_x
        if you is me or ahead < -look.BEHIND_M or abs(aside) > look.LOOK_ASIDE_M:
            continue
        vx, vy = you.speed * you.heading_x, you.speed * you.heading_y
        near.append(
            SimpleNamespace(
                ahead=ahead,
                aside=aside,
                speed_ahead=vx * to_x + vy * to_y,
                speed_aside=vx * to_y - vy * to_x,
                bodies_m=me.radius_m + you.radius_m,
                stays=stays(you),
                further=you.fixed - dx * cut.unit_y + dy * cut.unit_x,
            )
        )
    return len(near)


def run(day: SimpleNamespace) -> tuple[float, Any]:
    """Seconds of the processor for so many steps, making the agents not counted, and the end."""
    day.ground = [
        SimpleNamespace(**{name: cut[name].item() for name in day.ground.dtype.names})
        for cut in day.ground
    ]
    crowd = Crowd(day)
    begin = time.thread_time()
    for _ in range(day.steps):
        crowd.step()
    took_s = time.thread_time() - begin
    return took_s, np.array([[a.x, a.y, a.speed, a.heading_x, a.heading_y] for a in crowd.runners])


def main() -> None:
    """Read a state, run it, write the seconds and the places back beside it."""
    path = Path(sys.argv[1])
    step.gather = gather_from_space
    day = pickle.loads(path.read_bytes())
    path.with_suffix(".out").write_bytes(pickle.dumps(run(day)))


if __name__ == "__main__":
    main()
