"""How is a race handled as a mesa model? The same arrays and kernel, with mesa's face.

The only module that imports mesa: doing so loads pandas and sets the start method of processes to
"spawn", so nothing on the way of the command line comes here.

With mesa 3.3 give `batch_run` the seeds as a parameter, `{"scenario": path, "seed": [1, 2]}`: its
`iterations` would run one seed over and over. Newer versions hand the seeds over themselves:
`batch_run(RaceModel, {"scenario": path}, rng=[1, 2])`. `max_steps` counts steps of the clock.
"""

from __future__ import annotations

import itertools
import weakref
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, ClassVar

import mesa
import mesa.space
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.engine.held import HeldValues
from simrun.engine.kernel.locate import across_m
from simrun.engine.run import CHUNK_S, field_of, recording_of
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.state.recording import Recording
from simrun.tactics.own.behaviour import Behaviour
from simrun.tactics.own.given import run_by

Array = NDArray[np.float64]

Reporters = Mapping[str, Any]
"""What to note by name: an attribute's name or a function of the model, or of a runner."""

EDGE_M = 2.0
"""So far beyond the edges mesa's space goes: a body may stand over an open one."""

SLOWED_SHARE = 0.5
"""Below this share of the wished speed a runner counts as slowed."""


STEPS_ALONE = "model.step(): the kernel moves everybody at the same time"
TACTIC_ALONE = "a tactic handed to RaceModel: what runners want is told before the gun"


class Counters(weakref.WeakKeyDictionary[Any, Iterator[int]]):
    """The next number of an agent, model by model.

    mesa 3.3 keeps every model that ever had agents alive through this table; ours lets go.
    """

    def __getitem__(self, model: Any) -> Iterator[int]:
        if model not in self:
            self[model] = itertools.count(1)
        return super().__getitem__(model)


class Runner(mesa.Agent):
    """What is true of one runner now? A view of one row of the model's arrays; it holds nothing.

    index: the row, in the order of the entry list. A runner who is past the end keeps the last
    position and speed; `is_gone` tells. Runners do not act by themselves: the kernel moves them all.
    """

    _ids: ClassVar[Counters] = Counters()

    def __init__(self, model: RaceModel, index: int) -> None:
        super().__init__(model)
        self.index = index

    def __setattr__(self, name: str, value: object) -> None:
        """What the kernel knows of a runner is read, not written. Raises BadInput."""
        if isinstance(getattr(type(self), name, None), property):
            if name == "pos" and value is None:  # as mesa begins; the kernel knows better
                return
            raise BadInput(Problem(name, "set from outside", TACTIC_ALONE))
        super().__setattr__(name, value)

    def step(self) -> None:
        """Nothing that a runner can do alone. Raises BadInput."""
        raise BadInput(Problem("step", "a runner that acts alone", STEPS_ALONE))

    def advance(self) -> None:
        """The same: nobody waits for a second half of a step. Raises BadInput."""
        raise BadInput(Problem("advance", "a runner that acts alone", STEPS_ALONE))

    def remove(self) -> None:
        """Nobody is taken off the course. Raises BadInput."""
        allowed = "a scenario without this runner: the field of a race stays whole"
        raise BadInput(Problem("remove", f"{self.name} taken off the course", allowed))

    def _now(self, column: str) -> float:
        return float(self.model.race.bodies[column][self.index])

    @property
    def name(self) -> str:
        """The runner's name."""
        return self.model.roster.name[self.index]

    @property
    def team(self) -> str:
        """The team's name."""
        return self.model.roster.team_names[self.model.roster.team_index[self.index]]

    @property
    def box(self) -> int:
        """The starting box, numbered from 1, left to right facing the course."""
        return int(self.model.roster.box[self.index])

    @property
    def row(self) -> int:
        """The row within the box, numbered from 1."""
        return int(self.model.roster.row[self.index])

    @property
    def line(self) -> str:
        """The line in one word: the choice at the first turn."""
        return str(self.model.line[self.index])

    @property
    def position_m(self) -> tuple[float, float]:
        """Where the middle of the body is, in the local frame of the course."""
        return self._now("x"), self._now("y")

    @property
    def pos(self) -> tuple[float, float] | None:
        """The same, as mesa calls it; None once past the end."""
        return None if self.is_gone else self.position_m

    @property
    def speed_m_s(self) -> float:
        """How fast."""
        return self._now("speed")

    @property
    def wished_m_s(self) -> float:
        """How fast with nobody near; 0 before the first step."""
        return self._now("wished_m_s")

    @property
    def station_m(self) -> float:
        """Metres along the measured line."""
        return float(self.model.station_m()[self.index])

    @property
    def place(self) -> int:
        """The place now, 1 in front; equals share the better place."""
        return int(self.model.place()[self.index])

    @property
    def is_gone(self) -> bool:
        """Is the runner past the end of the course?"""
        return bool(self._now("gone"))


class RaceModel(mesa.Model):
    """What happens in a race, step by step? One step of mesa is one step of the clock.

    scenario: a Scenario or the path of its file. agents: whether there are Runners; many races in a
    row go faster without. tactic: a behaviour of one's own, the only way to tell runners what to do; the
    kernel asks it, not mesa. `space` tells who is near whom. data_every_s: how often `datacollector` notes
    time_s, mean_speed_m_s and slowed_share of those on the course (who still stands at the line counts as
    slowed), and who is past each checkpoint ("past <name>"); the start and the end are always noted.
    model_reporters, agent_reporters: what else, as mesa has them. `running` turns False where `run_race`
    stops, and `recording()` is then the same to the last bit. Raises BadInput. Check:
    tests/unit/engine/test_model.py.
    """

    def __init__(
        self,
        scenario: Scenario | str | Path,
        seed: int | None = 1,
        agents: bool = True,
        data_every_s: float = 1.0,
        model_reporters: Reporters | None = None,
        agent_reporters: Reporters | None = None,
        tactic: Behaviour | None = None,
    ) -> None:
        if seed is None:
            raise BadInput(Problem("seed", "none", "a whole number from 0; every race needs one"))
        super().__init__(rng=seed)
        self.running: bool = True
        day = scenario if isinstance(scenario, Scenario) else read(scenario)
        self.race = field_of(day if tactic is None else run_by(day, tactic), seed)
        self.race_seed, self.roster, self.line = seed, self.race.roster, self.race.roster.line
        self._data_every = steps_in(data_every_s, self.race.step_s)
        self._asked_every = steps_in(CHUNK_S, self.race.step_s)
        self._known: dict[str, tuple[int, NDArray[Any]]] = {}
        if agents:
            for index in range(len(self.roster)):
                Runner(self, index)
        self.space = Ground(self)
        if agent_reporters and not agents:
            raise BadInput(Problem("agent_reporters", "no agents", "agents=True with them"))
        reporters = self._reporters() | dict(model_reporters or {})
        self.datacollector = Collector(reporters, lambda: self.race.steps_done, agent_reporters)
        self.datacollector.collect(self)

    @property
    def t_s(self) -> float:
        """Seconds since the gun."""
        return self.race.t_s

    @property
    def bodies(self) -> NDArray[np.void]:
        """The records of all runners, (N,): see state.arrays.BODY. Read, do not write."""
        return self.race.bodies[: len(self.roster)]

    def step(self) -> None:
        """One step of the clock; nothing once the race is over."""
        if self.running:
            nobody_left = bool((self.bodies["gone"] == 1).all())
            self.race.advance(1)
            self.running = not self._stops(nobody_left)
            self.steps = self.race.steps_done
            if self.steps % self._data_every == 0 or not self.running:
                self.datacollector.collect(self)
        self.steps = self.race.steps_done  # mesa counts calls, we count what was run

    def recording(self) -> Recording:
        """What happened so far, with the alone-runs; at the end the same as that of `run_race`."""
        return recording_of(self.race, self.race_seed)

    def station_m(self) -> Array:
        """How far along the measured line is everybody? (N,)"""
        return self._once("station_m", self._station_m)

    def place(self) -> NDArray[np.int64]:
        """In which place is everybody? (N,): who is across the last checkpoint by time, then by way."""
        return self._once("place", self._place)

    def _stops(self, nobody_left: bool) -> bool:
        """Would `Race.run` stop here? It asks at the limit, every so many steps, and when all left."""
        done = self.race.steps_done
        asked = nobody_left or done >= self.race.last_step or done % self._asked_every == 0
        return asked and self.race.is_over

    def _once(self, name: str, make: Callable[[], NDArray[Any]]) -> NDArray[Any]:
        """Worked out once a step."""
        if self._known.get(name, (-1,))[0] != self.race.steps_done:
            self._known[name] = (self.race.steps_done, make())
        return self._known[name][1]

    def _station_m(self) -> Array:
        station = self.race.ground["station_m"]
        cell = self.bodies["cell"]
        places = zip(
            cell.tolist(), self.bodies["x"].tolist(), self.bodies["y"].tolist(), strict=True
        )
        through = np.array([across_m(self.race.ground, c, x, y)[0] for c, x, y in places])
        return (1.0 - through) * station[cell] + through * station[cell + 1]

    def _place(self) -> NDArray[np.int64]:
        end_s = self.race.tape.crossing_s[:, -1]
        done = np.isfinite(end_s)
        place = np.empty(len(end_s), dtype=np.int64)
        place[done] = ranks(end_s[done])
        place[~done] = done.sum() + ranks(-self.station_m()[~done])
        return place

    def _reporters(self) -> dict[str, Any]:
        names = [mark.name for mark in self.race.scenario.strip.checkpoints]
        past = {f"past {name}": past_checkpoint(at) for at, name in enumerate(names)}
        return {
            "time_s": lambda model: model.t_s,
            "mean_speed_m_s": lambda model: mean_or_nan(on_course(model)["speed"]),
            "slowed_share": slowed_share,
            **past,
        }


class Ground(mesa.space.ContinuousSpace):
    """Who is near whom? mesa's own space over the places in the model's arrays, as they are now.

    The local frame of the course, metres; agents alone are found, who is past the end is not. Nobody can be
    placed, moved or removed. Check: tests/unit/engine/test_mesa_space.py.
    """

    def __init__(self, model: RaceModel) -> None:
        edges = np.vstack([model.race.scenario.strip.left_m, model.race.scenario.strip.right_m])
        (west, south), (east, north) = edges.min(axis=0) - EDGE_M, edges.max(axis=0) + EDGE_M
        super().__init__(float(east), float(north), False, float(west), float(south))
        self._agent_to_index = dict.fromkeys(model.agents)

    def _build_agent_cache(self) -> None:
        """Everybody where they are now."""
        here = [one for one in self._agent_to_index if one.pos is not None]
        self._index_to_agent = dict(enumerate(here))
        self._agent_points = np.array([one.pos for one in here], dtype=float).reshape(-1, 2)

    def get_neighbors(
        self, pos: Sequence[float], radius: float, include_center: bool = True
    ) -> list[Runner]:
        """Who is within so many metres of this place now?"""
        self._build_agent_cache()
        near: list[Runner] = super().get_neighbors(pos, radius, include_center)
        return near

    def place_agent(self, agent: Any, pos: Any) -> None:
        """Nobody comes in from outside. Raises BadInput."""
        raise BadInput(Problem("place_agent", "somebody placed from outside", TACTIC_ALONE))

    def move_agent(self, agent: Any, pos: Any) -> None:
        """The kernel moves everybody. Raises BadInput."""
        raise BadInput(Problem("move_agent", "somebody moved from outside", TACTIC_ALONE))

    def remove_agent(self, agent: Any) -> None:
        """Nobody is taken off the course. Raises BadInput."""
        raise BadInput(Problem("remove_agent", "somebody removed from outside", TACTIC_ALONE))


def steps_in(seconds: float, step_s: float) -> int:
    """How many steps are nearest to so many seconds? At least one. Raises BadInput for 0 and less."""
    if not seconds > 0.0:
        raise BadInput(Problem("data_every_s", str(seconds), "seconds, more than 0"))
    return max(1, round(seconds / step_s))


def ranks(values: Array) -> NDArray[np.int64]:
    """The rank of each value, the smallest 1, equals share the better rank: (N,)."""
    return np.searchsorted(np.sort(values), values, side="left") + 1


def on_course(model: RaceModel) -> NDArray[np.void]:
    """The records of those who are not past the end."""
    return model.bodies[model.bodies["gone"] == 0]


def mean_or_nan(values: Array) -> float:
    """The mean; nan where nobody is left."""
    return float(values.mean()) if len(values) else float("nan")


def slowed_share(model: RaceModel) -> float:
    """Which share of those on the course runs below half of the wished speed?"""
    here = on_course(model)
    return mean_or_nan((here["speed"] < SLOWED_SHARE * here["wished_m_s"]).astype(float))


def past_checkpoint(at: int) -> Callable[[RaceModel], int]:
    """A reporter: how many have crossed this checkpoint?"""
    return lambda model: int(np.isfinite(model.race.tape.crossing_s[:, at]).sum())


class Collector(mesa.DataCollector):
    """mesa's collector of model data, for notes that are not taken in every step."""

    def __init__(
        self,
        reporters: Mapping[str, Any],
        steps: Callable[[], int],
        agent_reporters: Reporters | None = None,
    ) -> None:
        super().__init__(
            model_reporters=dict(reporters), agent_reporters=dict(agent_reporters or {})
        )
        self.noted_after: list[int] = []
        if not hasattr(self, "_collection_steps"):  # newer versions keep these themselves
            self.model_vars = {name: HeldValues(self.noted_after, steps) for name in reporters}

    def collect(self, model: RaceModel) -> None:
        """Take a note of everything."""
        self.noted_after.append(model.steps)
        super().collect(model)

    def get_model_vars_dataframe(self) -> pd.DataFrame:
        """All notes, one row each; the index is how many steps had been run."""
        columns = {name: getattr(held, "noted", held) for name, held in self.model_vars.items()}
        return pd.DataFrame(columns, index=pd.Index(self.noted_after, name="steps"))
