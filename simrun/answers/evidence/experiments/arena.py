"""Small worlds with a known answer: a few pieces of ground and a crowd of equals put on them.

The experiments of this room run the same kernel as a race; only ground, people and places differ.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from simrun.engine.run import Race
from simrun.laws.settings import Settings, settings_of
from simrun.runners.endurance import NEVER_TIRES_M
from simrun.runners.roster import Roster
from simrun.runners.streams import stream
from simrun.scenario.scenario import Scenario
from simrun.sources import figure
from simrun.tactics.margins import own_margins

Array = NDArray[np.float64]
Item = TypeVar("Item")
Result = TypeVar("Result")

WORKERS = 2
"""Races at a time. The kernel lets go of the interpreter, so threads are enough."""


@dataclass(frozen=True)
class Crowd:
    """A crowd of one kind: "runner" or "walker", the speed it wishes, how much that differs from one to the
    next where a crowd flows, and its settings."""

    kind: str
    wished_m_s: float
    spread_m_s: float
    settings: Settings
    radius_m: float

    def told(self, **changes: Any) -> Crowd:
        """The same crowd with some settings changed."""
        return replace(self, settings=self.settings._replace(**changes))


def crowd_of(kind: str, wished_m_s: float) -> Crowd:
    """The crowd of this kind with the settings that `sources` gives it."""
    spread = figure(f"arena.{kind}_wish_spread_m_s").value
    radius = figure(f"{kind}.body_radius_m").value
    return Crowd(kind, wished_m_s, spread, settings_of(kind), radius)


def ground(pieces: Sequence[dict[str, Any]], marks: Sequence[float], limit_s: float) -> Scenario:
    """A course of these pieces, checkpoints at these stations; nobody is on it yet."""
    return _ground(tuple(tuple(piece.items()) for piece in pieces), tuple(marks), limit_s)


@cache
def _ground(pieces: tuple[Any, ...], marks: tuple[float, ...], limit_s: float) -> Scenario:
    written = [dict(piece) for piece in pieces]
    wide = float(written[0]["width"])
    points = [{"name": f"{at:g} m", "at": at} for at in marks]
    document = {
        "name": "Proving ground",
        "clock": {"limit": limit_s},
        "start": {"width": wide, "boxes": 1, "box_width": wide, "front_row": 1},
        "course": {"pieces": written, "checkpoints": points},
        "field": {"ability": "even", "time": 1000},
        "teams": [{"name": "Crowd", "box": 1}],
    }
    return Scenario.assembled(document, {}, "proving ground")


def straight(length_m: float, width_m: float) -> dict[str, Any]:
    """A straight between two walls."""
    piece = {"piece": "straight", "length": length_m, "width": width_m, "surface": "road"}
    return {**piece, "left": "barrier", "right": "barrier"}


def gap(length_m: float, width_m: float) -> dict[str, Any]:
    """An opening in a wall, as long as the wall is thick; the ground opens again behind it."""
    return {**straight(length_m, width_m), "piece": "gap"}


def crowd_race(scenario: Scenario, crowd: Crowd, stand_m: Array, **options: Any) -> Race:
    """A crowd of equals at `stand_m` (N, 2), free to go at once, each keeping their own place across.

    options: as of Race; `pull`: 0 keeps their own place across a throat, 1 takes the shortest way;
    `inside_m` (N,): own offset from the inside of every turn.
    """
    count = len(stand_m)
    pull = options.pop("pull", figure("line.pull").value)
    inside_m = options.pop("inside_m", np.zeros(count))
    half = float(scenario.strip.width_m[0]) / 2
    alike = scenario.roster(1).one_runner_as_many(count)
    roster = replace(
        alike,
        radius_m=np.full(count, crowd.radius_m),
        cruise_m_s=np.full(count, crowd.wished_m_s),
        reserve_m=np.full(count, NEVER_TIRES_M),
        inside_m=np.repeat(inside_m[:, None], alike.choice.shape[1], axis=1),
        throat_share=np.clip(-stand_m[:, 1] / half, -1.0, 1.0),
        pull=np.full(count, pull),
        edge_share=np.zeros(count),
        look_phase=stream(1, "looks").random(count),
    )
    return race_of(scenario, roster, stand_m, crowd.settings, **options)


def race_of(
    scenario: Scenario, roster: Roster, stand_m: Array, settings: Settings, **options: Any
) -> Race:
    """A race of this roster from these places, nothing written but crossing times."""
    margins = own_margins(scenario.strip, roster)
    race = Race(scenario, roster, stand_m, margins, frames=False, settings=settings, **options)
    race.bodies["wait_s"] = 0.0
    return race


MOST_SPREAD = 2.0
"""Nobody wishes for a speed further than so many standard deviations from the mean."""


def wishes_m_s(crowd: Crowd, count: int, seed: int = 1) -> Array:
    """The speeds that so many people of a crowd wish for, (count,): normal, without the far ends."""
    off = np.random.default_rng(seed).standard_normal(count).clip(-MOST_SPREAD, MOST_SPREAD)
    return crowd.wished_m_s + crowd.spread_m_s * off


def block_m(density_per_m2: float, length_m: float, width_m: float, rng: Any) -> Array:
    """Places of a crowd at this density on a block of ground, x from 0 and y about 0: (N, 2).

    Rows one behind the other, every second one shifted by half a place, each place moved a little.
    """
    count = round(density_per_m2 * length_m * width_m)
    abreast = max(1, round(np.sqrt(count * width_m / length_m)))
    rows = int(np.ceil(count / abreast))
    row, file = np.divmod(np.arange(count), abreast)
    step_x, step_y = length_m / rows, width_m / (abreast + 0.5)
    x = (row + 0.5) * step_x
    y = (file + 0.5 + 0.5 * (row % 2)) * step_y - width_m / 2
    shake = 0.05 * rng.uniform(-1, 1, (count, 2))
    return np.stack([x, y], axis=1) + shake


def side_by_side(work: Callable[[Item], Result], items: Sequence[Item]) -> list[Result]:
    """The results of `work` for every item, in order, some at a time."""
    with ThreadPoolExecutor(WORKERS) as pool:
        return list(pool.map(work, items))
