"""What is every runner told, what comes of it, and from which measures does an order that surprises come?"""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.answers.tactic.orders import the_team
from simrun.answers.tactic.search.choices import Choice
from simrun.answers.tactic.tactic_found import Found
from simrun.trials.statistics import single_range

if TYPE_CHECKING:
    import pandas

SURPRISE = 0.04
"""A slower one who is told to open harder by so much more of their own pace than the fastest of ours."""

FLAT_OUT = 0.01
"""Within this share of the fastest that a body can do alone an opening is flat out."""


@dataclass(frozen=True)
class RunnerOrder:
    """One runner's orders, in plain figures.

    row from 1, file from 0, of so many in that row. stake: the mark where the opening ends; told_s: seconds
    from the gun to it, alone; low_s, high_s: what is as good as far as these races can tell (all openings
    tried where as_you_like); harder, harder_low, harder_high: the same as shares faster than the calmest
    tried. calmest, hardest: does that reach the end of what was tried? at_limit: do the hardest orders tried
    come to the same seconds, the fastest that this body can do? flat_out: and so does what is told?
    crowd_low_s, crowd_high_s: the seconds at the stake in eight fresh races of ten. gate_, finish_: places in
    eight of ten. told_traffic_s, calm_traffic_s: lost in the crowd by the gate with the told opening and with
    the calmest. surprises: is a slower one told to open clearly harder than the fastest of ours? lines: by
    turn; as_good: the turns, and FRONT and STAGES, at which nothing tried could be told apart.
    """

    runner: str
    row: int
    file: int
    abreast: int
    stake: str
    told_s: float
    low_s: float
    high_s: float
    harder: float
    harder_low: float
    harder_high: float
    as_you_like: bool
    calmest: bool
    hardest: bool
    flat_out: bool
    at_limit: bool
    crowd_low_s: float
    crowd_high_s: float
    gate: str
    gate_low: float
    gate_high: float
    finish_low: float
    finish_high: float
    told_traffic_s: float
    calm_traffic_s: float
    surprises: bool
    lines: dict[str, str]
    as_good: tuple[str, ...]
    sit: str
    go: str

    @property
    def row_of_table(self) -> dict[str, Any]:
        """As a row of orders.csv: a column a turn."""
        row = asdict(self) | {"as_good": "; ".join(self.as_good)}
        lines = row.pop("lines")
        return row | {f"line at {turn}": word for turn, word in lines.items()}


def runner_orders(found: Found) -> tuple[RunnerOrder, ...]:
    """Everybody's orders, front row first, from left to right. Check: tests/unit/answers/test_orders.py."""
    roster = found.plan_day.roster(found.fresh_seeds[0])
    ours = np.flatnonzero(roster.team == found.team)
    abreast = {row: int((roster.row[ours] == row).sum()) for row in set(roster.row[ours].tolist())}
    told = [
        _one(found, i, int(roster.row[who]), int(roster.file[who]), abreast)
        for i, who in enumerate(ours)
    ]
    first = told[_fastest(found)]
    told = [replace(one, surprises=one.harder >= first.harder + SURPRISE) for one in told]
    return tuple(sorted(told, key=lambda one: (one.row, one.file)))


def _fastest(found: Found) -> int:
    times = [person.time_s or 0.0 for person in the_team(found.day, found.team).people]
    return times.index(min(times))


def first_of(found: Found, orders: tuple[RunnerOrder, ...]) -> RunnerOrder:
    """The orders of the fastest of ours on paper."""
    name = found.names[_fastest(found)]
    return next(one for one in orders if one.runner == name)


def _one(found: Found, i: int, row: int, file: int, abreast: dict[int, int]) -> RunnerOrder:
    name, marks = found.names[i], found.marks
    choice = found.openings[name]
    splits = {o: float(found.splits_s[o][i]) for o in sorted((choice.chosen, *choice.later))}
    band = _band(choice)
    gate, finish = (single_range(found.plan.place[:, i, c]) for c in (found.gate, -1))
    crowd = single_range(found.plan.crossing_s[:, i, found.stake])
    harder = {o: max(splits.values()) / split - 1.0 for o, split in splits.items()}
    told, calm = (found.curve[o].traffic_s[:, i, found.gate] for o in (choice.chosen, 0.0))
    return RunnerOrder(
        runner=name,
        row=row,
        file=file,
        abreast=abreast[row],
        stake=marks[found.stake],
        told_s=splits[choice.chosen],
        low_s=min(splits[o] for o in band),
        high_s=max(splits[o] for o in band),
        harder=harder[choice.chosen],
        harder_low=min(harder[o] for o in band),
        harder_high=max(harder[o] for o in band),
        as_you_like=choice.as_you_like,
        calmest=min(splits) in band,
        hardest=max(splits) in band,
        flat_out=_is_flat_out(splits, choice.chosen),
        at_limit=_is_at_limit(splits),
        crowd_low_s=crowd[0],
        crowd_high_s=crowd[1],
        gate=marks[found.gate],
        gate_low=gate[0],
        gate_high=gate[1],
        finish_low=finish[0],
        finish_high=finish[1],
        told_traffic_s=_mean(told),
        calm_traffic_s=_mean(calm),
        surprises=False,
        lines=dict(found.order.lines),
        as_good=tuple(about for about, made in found.choices.items() if made.as_you_like),
        sit=found.order.stages.sit,
        go=found.order.stages.go,
    )


def _band(choice: Choice[float]) -> tuple[float, ...]:
    """The openings next to the chosen one that may be as good, without a gap. From calm to hard."""
    tried = sorted((choice.chosen, *choice.later))
    at, good = tried.index(choice.chosen), set(choice.as_good)
    first, last = at, at
    while first > 0 and tried[first - 1] in good:
        first -= 1
    while last < len(tried) - 1 and tried[last + 1] in good:
        last += 1
    return tuple(tried[first : last + 1])


def _is_at_limit(splits: dict[float, float]) -> bool:
    """Do the last two orders come to the same seconds?"""
    before = sorted(splits)[-2:][0]
    return splits[before] <= (1 + FLAT_OUT / 10) * min(splits.values())


def _is_flat_out(splits: dict[float, float], chosen: float) -> bool:
    """Is what is told the fastest that this body can do?"""
    return _is_at_limit(splits) and splits[chosen] <= (1 + FLAT_OUT) * min(splits.values())


def _mean(values: np.ndarray) -> float:
    return float(np.nanmean(values)) if not np.isnan(values).all() else float("nan")


def orders_table(orders: tuple[RunnerOrder, ...]) -> pandas.DataFrame:
    """A row a runner: all that a plan's sentence says of them."""
    import pandas as pd

    return pd.DataFrame([one.row_of_table for one in orders])
