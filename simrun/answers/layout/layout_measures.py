"""What do the races of one layout say? Fairness, the draw's share, the crowd, the hand calculation."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.answers.layout.varied import aim_m
from simrun.engine.field import stand_m
from simrun.measure.crowd import (
    CROWD_NAMES,
    PLACE_NAMES,
    CrowdFigures,
    first_narrowing_cut,
    first_narrowing_m,
)
from simrun.measure.hand_queue import free_straight_m, queue_delay_s
from simrun.measure.loss import places
from simrun.measure.places import CoursePlace, course_places
from simrun.measure.wheel import farthest_box_m
from simrun.scenario.scenario import Scenario
from simrun.sources import figure
from simrun.trials.how_sure import Points, Sure, sure
from simrun.trials.races import Outcome
from simrun.trials.statistics import Estimate

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

FLOW = "crowd.runners_flow_per_s_m"
SPEED_SEEDS = 3
"""So many fields tell mean and spread of the speeds."""


@dataclass(frozen=True)
class LayoutSample:
    """The races of one layout: S seeds, N runners, C checkpoints.

    box (S, N). lost_s, place (S, N, C): against the same runner alone from the best box; the place by the
    time since their own wave's gun. nan for those who did not arrive. crowd: of every race. points (S,): of
    the inputs, where they were drawn.
    """

    day: Scenario
    box: NDArray[np.int64]
    lost_s: Array
    place: Array
    crowd: tuple[CrowdFigures, ...]
    points: Points | None = None

    @property
    def checkpoints(self) -> tuple[str, ...]:
        """Their names, in order."""
        return tuple(mark.name for mark in self.day.strip.checkpoints)

    def at(self, checkpoint: str) -> int:
        """The number of a checkpoint by its name."""
        return self.checkpoints.index(checkpoint)

    def crowd_of(self, name: str) -> Array:
        """One figure of the crowd, race by race, (S,)."""
        return np.array([getattr(race, name) for race in self.crowd])

    def crowd_at(self, name: str) -> Array:
        """One figure of PLACE_NAMES, race by race and place by place, (S, P)."""
        return np.array([race.by_place[:, PLACE_NAMES.index(name)] for race in self.crowd])

    @property
    def places(self) -> tuple[CoursePlace, ...]:
        """The places of the course, up to where the study ends."""
        return course_places(self.day.strip)

    def by_box(self, values: Array) -> Array:
        """Means of the boxes, race by race: (S, N) to (S, B), nan for an empty box."""
        boxes = np.unique(self.box)
        here = (self.box[:, :, None] == boxes) & ~np.isnan(values)[:, :, None]
        total = np.where(here, values[:, :, None], 0.0).sum(axis=1)
        count = here.sum(axis=1)
        return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def sample_of(day: Scenario, outcomes: list[Outcome], points: Points | None = None) -> LayoutSample:
    """What the outcomes of one layout hold, side by side; points of the inputs, one a race."""
    waits = [day.start.wave_wait_s(o.box) for o in outcomes]
    pairs = list(zip(outcomes, waits, strict=True))
    return LayoutSample(
        day,
        np.stack([o.box for o in outcomes]).astype(np.int64),
        np.stack([o.crossing_s - o.best_s for o in outcomes]),
        np.stack([places(o.crossing_s - wait[:, None]) for o, wait in pairs]),
        tuple(o.crowd for o in outcomes if o.crowd),
        points,
    )


def mean_of(sample: LayoutSample, name: str) -> float:
    """The mean of one crowd figure over the races, nan where no race had it."""
    return known_mean(sample.crowd_of(name))


def known_mean(values: Array) -> float:
    """The mean of what is known, nan where nothing is."""
    return float(np.nanmean(values)) if not np.isnan(values).all() else float("nan")


def between_boxes(means: Array, points: Points | None = None) -> float:
    """The variance between boxes that is not chance: (S, B) means of boxes by race; may fall below zero.

    Variance of the boxes' long-run means, less what so few races leave in them by chance. What a race
    has in common for all boxes is taken away first. points (S,): races of one point of the inputs are not
    independent, so that it is their sums that tell what is left by chance.
    Check: tests/unit/answers/test_layout_measures.py (draws with a known answer).
    """
    own = means - np.nanmean(means, axis=1, keepdims=True)
    if len(own) < 2 or own.shape[1] < 2:
        return float("nan")
    if points is None:
        chance = np.nanmean(np.nanvar(own, axis=0, ddof=1)) / len(own)
    else:
        chance = np.mean(_variance_of_means(own, points))
    return float(np.nanvar(np.nanmean(own, axis=0), ddof=1) - chance)


def _variance_of_means(own: Array, points: Points) -> Array:
    """The variance of every box's mean over races of which those of one point go together, (B,)."""
    off = np.nan_to_num(own - np.nanmean(own, axis=0))
    _, where = np.unique(points, return_inverse=True)
    sums = np.zeros((where.max() + 1, own.shape[1]))
    np.add.at(sums, where, off)
    groups = len(sums)
    return np.asarray(groups / max(1, groups - 1) * (sums**2).sum(axis=0) / len(own) ** 2)


Ask = Callable[[Array, "Points | None"], float]
"""A figure of races, one a row, with the points of the inputs that they met."""


def jackknifed(ask: Ask, rows: NDArray, points: Points | None = None) -> Sure:
    """A figure of all races with its ranges: every race left out once.

    rows (S, ...): one a race; points (S,): of the inputs. Formula: pseudo-values S x - (S - 1) x_-i, judged
    as values of the races are (`trials.how_sure`), about x. Without points that is
    se^2 = (S - 1) / S sum (x_-i - mean)^2, +- t(S - 1) se. Check: tests/unit/answers/test_layout_measures.py.
    """
    count, whole = len(rows), ask(rows, points)
    if count < 3:
        nothing = Estimate(whole, -np.inf, np.inf, count, 1.0)
        return Sure(whole, -np.inf, np.inf, count, 1.0, nothing)
    kept = [np.delete(np.arange(count), i) for i in range(count)]
    without = [ask(rows[some], None if points is None else points[some]) for some in kept]
    pseudo = count * whole - (count - 1) * np.array(without)
    return sure(pseudo + (whole - pseudo.mean()), points)


def root(found: Sure) -> Sure:
    """The same as a standard deviation; below nothing is nothing."""
    return found.mapped(lambda variance: float(np.sqrt(max(0.0, variance))))


def unfairness_s(sample: LayoutSample, checkpoint: str) -> Sure:
    """How far apart are the boxes? The standard deviation between boxes of the mean seconds lost."""
    lost = sample.by_box(sample.lost_s[:, :, sample.at(checkpoint)])
    return root(jackknifed(between_boxes, lost, sample.points))


def drawn_share(sample: LayoutSample, checkpoint: str) -> Sure:
    """Which share of the variance of places does the box alone explain? 0 to 1.

    The draw of teams' abilities is not in it: only what a box keeps from race to race counts.
    """
    place = sample.place[:, :, sample.at(checkpoint)]
    whole = float(np.nanmean(np.nanvar(place, axis=1)))
    found = jackknifed(between_boxes, sample.by_box(place), sample.points)
    return found.mapped(lambda variance: min(1.0, max(0.0, variance / whole)))


@dataclass(frozen=True)
class WorstPair:
    """The two boxes furthest apart, picked in the first half of the races, measured in the second."""

    most: int
    least: int
    apart_s: Sure


def worst_pair(sample: LayoutSample, checkpoint: str) -> WorstPair:
    """Which box loses most, which least, and by how much?

    A pair picked after looking looks worse than it is, so the picking races are not the measuring ones.
    """
    lost = sample.by_box(sample.lost_s[:, :, sample.at(checkpoint)])
    boxes, half = np.unique(sample.box), max(1, len(lost) // 2)
    mean = np.nanmean(lost[:half], axis=0)
    most, least = int(np.nanargmax(mean)), int(np.nanargmin(mean))
    apart = lost[half:, most] - lost[half:, least]
    points = None if sample.points is None else sample.points[half:]
    return WorstPair(int(boxes[most]), int(boxes[least]), sure(apart, points))


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
    """One row a checkpoint: the settings, fairness and the draw there, and the crowd of the whole race."""
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
        row |= {"worst_box": pair.most, "best_box": pair.least} | _three("apart_s", pair.apart_s)
        row["not_arrived"] = int(np.isnan(sample.lost_s[:, :, c]).sum())
        yield row | crowd


def race_means(values: Array) -> Array:
    """Means of the runners who arrived, race by race; nan where nobody did."""
    arrived = ~np.isnan(values)
    total = np.where(arrived, values, 0.0).sum(axis=1)
    return np.where(arrived.any(axis=1), total / np.maximum(arrived.sum(axis=1), 1), np.nan)


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
    return pd.DataFrame(rows)


def fairer_by_s(first: LayoutSample, second: LayoutSample, checkpoint: str) -> Sure:
    """By how many seconds lie the boxes of the second layout closer together? The same seeds in both."""
    lost = [s.by_box(s.lost_s[:, :, s.at(checkpoint)]) for s in (first, second)]
    split = lost[0].shape[1]

    def saved(rows: Array, points: Points | None) -> float:
        before, after = (between_boxes(half, points) for half in (rows[:, :split], rows[:, split:]))
        return float(np.sqrt(max(0.0, before)) - np.sqrt(max(0.0, after)))

    return jackknifed(saved, np.concatenate(lost, axis=1), first.points)
