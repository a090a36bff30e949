"""The layouts as tables: what is fair at every mark, how the crowd fares, and the hand calculation beside."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.answers.layout.fair.fairness import (
    drawn_share,
    points_between,
    unfairness_s,
    worst_pair,
)
from simrun.answers.layout.fair.layout_sample import LayoutSample, race_means
from simrun.answers.layout.varied import aim_m
from simrun.engine.field import stand_m
from simrun.measure.crowd import (
    CROWD_NAMES,
    PLACE_NAMES,
    first_narrowing_cut,
    first_narrowing_m,
)
from simrun.measure.hand_queue import free_straight_m, queue_delay_s
from simrun.measure.places import CoursePlace
from simrun.measure.wheel import farthest_box_m
from simrun.scenario.scenario import Scenario
from simrun.sources import figure
from simrun.trials.how_sure import Sure, sure

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

FLOW = "crowd.runners_flow_per_s_m"
SPEED_SEEDS = 3
"""So many fields tell mean and spread of the speeds."""


def rule_straight_m(day: Scenario) -> float:
    """Beyond which straight does the dispersion rule expect no queue? nan without a narrowing.

    L* = N v^2 / (C sigma sqrt(2 pi)), v and sigma of the field's opening speeds, C the published flow of
    runners times the width. Check: tests/theory/test_queue.py, tests/validation/test_layouts.py.
    """
    speeds = np.concatenate([_opening_m_s(day, seed) for seed in range(1, SPEED_SEEDS + 1)])
    capacity = figure(FLOW).value * first_narrowing_m(day.strip)
    spread = float(speeds.std())
    if not spread > 0:
        return float("inf")
    return float(free_straight_m(day.runners, float(speeds.mean()), spread, capacity))


def _opening_m_s(day: Scenario, seed: int) -> Array:
    roster = day.roster(seed)
    return np.asarray(roster.cruise_m_s * (1 + roster.opening))


def hand_queue_s(
    day: Scenario, seeds: range | tuple[int, ...], flow_per_s_m: float | None = None
) -> Array:
    """By hand: what would everybody wait at the narrowing, a plain queue of the published flow? (S,) means.

    Everybody goes straight from their own place to its middle at their own opening speed; it lets C = flow
    times width through a second. Nobody is in anybody's way before.
    """
    capacity = (flow_per_s_m or figure(FLOW).value) * first_narrowing_m(day.strip)
    return np.array([_hand_delays_s(day, seed, capacity).mean() for seed in seeds])


def _hand_delays_s(day: Scenario, seed: int, capacity: float) -> Array:
    roster = day.roster(seed)
    stand = stand_m(day.start_line, roster)
    middle = day.strip.middle_m[first_narrowing_cut(day.strip)]
    way = np.hypot(*(stand - middle).T)
    wait = day.start.wave_wait_s(roster.box)
    return queue_delay_s(wait + way / _opening_m_s(day, seed), capacity)


def rows_of(sample: LayoutSample, told: Mapping[str, float]) -> Iterator[dict[str, object]]:
    """One row a checkpoint: the settings, fairness and the draw there, and the crowd of the whole race.

    worst_box and best_box only where that pair is told from two equal boxes.
    """
    crowd = {f"crowd_{key}": value for key, value in _crowd_row(sample).items()}
    told = {
        **told,
        "extra_m_farthest_box": farthest_box_m(sample.day.strip, sample.day.start_line.spec),
    }
    for c, name in enumerate(sample.checkpoints):
        pair = worst_pair(sample, name)
        lost = sure(race_means(sample.lost_s[:, :, c]), sample.points)
        row: dict[str, object] = {**told, "checkpoint": name, "races": len(sample.box)}
        row |= _three("unfairness_s", unfairness_s(sample, name))
        row |= _three("drawn_share", drawn_share(sample, name)) | _three("lost_s", lost)
        named = (pair.most, pair.least) if pair.is_named else (None, None)
        row |= dict(zip(("worst_box", "best_box"), named, strict=True))
        row |= _three("apart_s", pair.apart)
        last = c == len(sample.checkpoints) - 1
        points = points_between(sample) if last else None
        row |= {} if points is None else _three("points_between", points)
        row["not_arrived"] = int(np.isnan(sample.lost_s[:, :, c]).sum())
        yield row | crowd


def _three(name: str, found: Sure) -> dict[str, object]:
    """The mean and the whole range; where inputs were drawn, what chance alone leaves of it too."""
    row: dict[str, object] = {name: found.mean}
    row |= {f"{name}_low": found.low, f"{name}_high": found.high}
    if found.parts is not None:
        row |= {f"{name}_chance_low": found.by_chance.low}
        row |= {f"{name}_chance_high": found.by_chance.high}
    return row


def _crowd_row(sample: LayoutSample) -> dict[str, object]:
    row: dict[str, object] = {}
    for name in RANGED:
        row |= _three(name, sure(sample.crowd_of(name), sample.points))
    density = sample.crowd_of("density_per_m2")
    row["still_crowded_races"] = int(np.isnan(sample.crowd_of("strung_out_s")).sum())
    if not np.isnan(density).all():
        fullest = int(np.nanargmax(density))
        row |= {"density_highest_per_m2": float(density[fullest])}
        row |= {
            name: float(sample.crowd_of(name)[fullest]) for name in ("density_x_m", "density_y_m")
        }
        at = int(np.nanargmax(sample.crowd_at("density_per_m2")[fullest]))
        row |= {"density_place": place_name(sample.places, at)}
    costly = int(np.argmax(sample.crowd_at("queue_s").mean(axis=0)))
    row |= {"queue_place": place_name(sample.places, costly)}
    narrow = first_narrowing_cut(sample.day.strip) is not None
    fields = range(1, 1 + SPEED_SEEDS)
    row["straight_m"] = aim_m(sample.day) if narrow else np.nan
    row["rule_straight_m"] = rule_straight_m(sample.day) if narrow else np.nan
    row["hand_queue_s"] = float(hand_queue_s(sample.day, fields).mean()) if narrow else np.nan
    return row


RANGED = tuple(
    name for name in CROWD_NAMES if name not in ("density_x_m", "density_y_m", "density_s")
)
"""Figures of the crowd that are told with their range."""


def place_name(places: tuple[CoursePlace, ...], number: int) -> str:
    """What a place is called, with its lap from the second one on."""
    place = places[number]
    return place.name if place.lap == 1 else f"{place.name}, lap {place.lap}"


def crowd_table(samples: list[tuple[dict[str, float], LayoutSample]]) -> pandas.DataFrame:
    """All layouts as crowds, one row a layout and place; queue_s of a layout's places adds up to its own."""
    import pandas as pd

    rows = []
    for number, (_, sample) in enumerate(samples, start=1):
        seen = {name: sample.crowd_at(name) for name in PLACE_NAMES}
        for p, place in enumerate(sample.places):
            row: dict[str, object] = {"layout": number, "place": place_name(sample.places, p)}
            row |= {"kind": place.kind, "from_m": place.from_m, "to_m": place.to_m}
            for name, values in seen.items():
                row |= _three(name, sure(values[:, p], sample.points))
            rows.append(row)
    return pd.DataFrame(rows)


def table_of(samples: list[tuple[dict[str, float], LayoutSample]]) -> pandas.DataFrame:
    """All layouts, one row a layout and checkpoint."""
    import pandas as pd

    rows = [{"layout": i + 1, **row} for i, (t, s) in enumerate(samples) for row in rows_of(s, t)]
    table = pd.DataFrame(rows)
    return table.astype({"worst_box": "Int64", "best_box": "Int64"})
