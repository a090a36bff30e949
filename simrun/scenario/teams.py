"""Who runs, from which box? Teams as written, from the entry list, or made up, in one form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simrun.runners.streams import stream
from simrun.scenario.tables.schema_teams import PlanTable, ToldLine


@dataclass(frozen=True)
class Person:
    """One named runner; None means drawn with the rest of the field.

    time_guessed: has the entry list no time of this runner, so that another was put in?
    """

    name: str
    time_s: float | None = None
    opening: float | None = None
    line: str | None = None
    row: int | None = None
    plan: PlanTable | None = None
    time_guessed: bool = False


@dataclass(frozen=True)
class Team:
    """One team, ready to be drawn.

    box: None until it is drawn from the seed. runners: how many run; `people` are the first of
    them. lines: "inside", "middle", "outside" or metres off the inside edge, or three of them for entry, apex
    and exit, by name of a turn or name@lap; "left", "middle", "right" by name of a narrowing; "own" by
    name of a checkpoint up to which they keep their own place across. None elsewhere means as the field.
    """

    name: str
    runners: int
    box: int | None = None
    ours: bool = False
    opening: float | None = None
    line: str | None = None
    lines: dict[str, ToldLine] = field(default_factory=dict)
    pull: float | None = None
    plan: PlanTable | None = None
    start: str | None = None
    front: tuple[str, ...] = ()
    people: tuple[Person, ...] = ()


def waves_by_pace(
    team_index: NDArray[np.int64], cruise_m_s: NDArray[np.float64], waves: int
) -> NDArray[np.int64]:
    """In which wave, from 0, goes everybody where the teams with the faster seed times go first? (N,)

    A team goes together, by the mean pace of its people; the waves hold as many teams each as can be. Check:
    tests/unit/scenario/test_races.py.
    """
    runners = np.bincount(team_index)
    pace = np.bincount(team_index, cruise_m_s) / np.maximum(runners, 1)
    rank = np.empty(len(pace), dtype=np.int64)
    rank[np.argsort(-pace, kind="stable")] = np.arange(len(pace))
    return np.asarray((rank * waves // len(pace))[team_index])


def drawn_again(teams: int, open_boxes: Sequence[int], seed: int) -> list[int]:
    """Which box has every team with this seed, where the draw is drawn again for every race?

    In blocks of as many seeds as boxes are open, beginning with seed 1: one order of the teams, and of the
    boxes left over, is drawn for a block and moves one box on with every seed. So in a block every team
    stands in every open box exactly once, and the next block brings other neighbours. Check:
    tests/unit/scenario/test_draw_again.py.
    """
    count = len(open_boxes)
    block, on = _block_of(seed, count)
    order = stream(block, "boxes").permutation(count)[:teams]
    return [open_boxes[(place + on) % count] for place in order]


def one_drawn_again(box: int, open_boxes: Sequence[int], seed: int) -> int:
    """Which other box has the one team that is drawn again? In a block of seeds each of the others once."""
    others = [other for other in open_boxes if other != box]
    if not others:
        return box
    block, on = _block_of(seed, len(others))
    return others[stream(block, "boxes").permutation(len(others))[on]]


def _block_of(seed: int, count: int) -> tuple[int, int]:
    """In which block of so many seeds does a seed lie, and where in it? Seed 1 begins one."""
    return (seed + count - 1) // count, (seed - 1) % count
