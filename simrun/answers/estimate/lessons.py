"""What do all days of the handbook together teach? Read off its table, no model between.

Held fixed: the sample's own mixture of lines. Ranges are over days: they are drawn again with replacement.
A placebo: boxes of a day exchanged at random leave no slope from the throat to 1 km, and chance alone no
spread between boxes.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.trials.handbook.handbook_table import read_boxes, read_days

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

DRAWS = 400
THIRDS = 3
LOW, HIGH = 0.05, 0.95


@dataclass(frozen=True)
class Ranged:
    """A figure with its 90 % range."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Thirds:
    """How far boxes lie apart at 1 km on the days with least, middling and most of something, and where the
    thirds meet."""

    name: str
    meet: tuple[float, float]
    apart_s: tuple[Ranged, Ranged, Ranged]


@dataclass(frozen=True)
class Lessons:
    """apart: by the line's width over the straight, and by the throat. outside_s: an outermost box against
    the average box at 1 km, its range over days; outside_gains: the share of them that gain. kept_seconds,
    kept_places: what becomes by 1 km of one second, one place, lost at the throat."""

    days: int
    races: int
    judged: int
    apart: tuple[Thirds, ...]
    outside_s: Ranged
    outside_gains: float
    kept_seconds: Ranged
    kept_places: Ranged


def lessons_of(folder: Path) -> Lessons:
    """Read the table and sum it up. Check: tests/unit/answers/test_lessons.py."""
    days, boxes = read_days(folder), read_boxes(folder)
    throat, km = (
        boxes[boxes["mark"] == mark].reset_index(drop=True) for mark in ("throat", "1 km")
    )
    ratio = days.set_index("day").width_m / days.set_index("day").straight_m
    judged = set(days[days.use == "judge"].day)
    edge = (km.box == 1) | (km.box == km.groupby("day").box.transform("max"))
    outside = km[edge].groupby("day").cost_s.mean()
    return Lessons(
        days=len(days),
        races=int(days.races.sum()),
        judged=len(judged),
        apart=(
            _thirds("width over straight", ratio, km),
            _thirds("throat", days.set_index("day").throat_m, km),
        ),
        outside_s=Ranged(*(float(outside.quantile(q)) for q in (0.5, LOW, HIGH))),
        outside_gains=float((km[edge].cost_s < 0).mean()),
        kept_seconds=kept(throat, km, "cost_s", judged),
        kept_places=kept(throat, km, "cost_places", judged),
    )


def apart_s(rows: pandas.DataFrame) -> Array:
    """Of every day the variance between its boxes, the chance of few races taken out, (D,)."""
    by_day = rows.groupby("day")
    chance = (rows.se_s**2).groupby(rows.day).mean()
    return np.asarray(by_day.cost_s.var(ddof=0) - chance, dtype=np.float64)


def _thirds(name: str, values: pandas.Series, rows: pandas.DataFrame) -> Thirds:
    first, second = (float(values.quantile(k / THIRDS)) for k in (1, 2))
    third = np.digitize(values.loc[rows.day], [first, second])
    found = [_root_mean(apart_s(rows[third == k])) for k in range(THIRDS)]
    return Thirds(name, (first, second), (found[0], found[1], found[2]))


def _root_mean(each: Array) -> Ranged:
    drawn = _again(len(each)) @ each / len(each)
    low, high = np.quantile(np.sqrt(np.maximum(drawn, 0)), (LOW, HIGH))
    return Ranged(float(np.sqrt(max(each.mean(), 0))), float(low), float(high))


def kept(first: pandas.DataFrame, later: pandas.DataFrame, what: str, days: set[int]) -> Ranged:
    """What becomes of one lost at the first mark: the slope through nothing over the boxes of the judged
    days, whose means are sure enough to stand on the right of an equation."""
    here = first.day.isin(days)
    x, y, day = first[here][what], later[here][what], first[here].day
    over = np.asarray((x * y).groupby(day).sum())
    under = np.asarray((x * x).groupby(day).sum())
    weights = _again(len(over))
    low, high = np.quantile((weights @ over) / (weights @ under), (LOW, HIGH))
    return Ranged(float(over.sum() / under.sum()), float(low), float(high))


def _again(count: int) -> Array:
    """How often is each of so many drawn, with replacement? (DRAWS, count)."""
    chance = np.random.default_rng(1)
    return chance.multinomial(count, np.full(count, 1 / count), DRAWS).astype(np.float64)
