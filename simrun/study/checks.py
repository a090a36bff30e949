"""How does the model stand against what is published? One row a figure, for the page and for the tests.

A row that misses says what in the model makes it miss; its band is never widened.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from simrun.sources import figure
from simrun.study import experiments_corner as corner
from simrun.study import experiments_flow as flow
from simrun.study import experiments_queue as queue
from simrun.study.experiments_arena import Array, crowd_of
from simrun.study.experiments_data import ten_mile_start

INFINITE = float("inf")
RUNNER_M_S, WALKER_M_S = 5.0, 1.34


@dataclass(frozen=True)
class Check:
    """One figure held against its band.

    strength: A exact, B measured band, C ordering (the whole 95 % interval, `measured` plus and minus
    `reach`, must lie in the band). source: citation with how we know it. note: how it was measured;
    cause: what in the model makes it miss, empty where it is met.
    """

    name: str
    strength: str
    measured: float
    low: float
    high: float
    unit: str
    source: str
    reach: float = 0.0
    note: str = ""
    cause: str = ""

    @property
    def met(self) -> bool:
        """Does it lie within the band?"""
        reach = self.reach if self.strength == "C" else 0.0
        return self.low <= self.measured - reach and self.measured + reach <= self.high

    @property
    def band_text(self) -> str:
        """The band in words."""
        if self.high == INFINITE:
            return f"more than {self.low:g} {self.unit}".rstrip()
        if self.low == self.high:
            return f"{self.low:g} {self.unit}".rstrip()
        return f"{self.low:.5g} to {self.high:.5g} {self.unit}".rstrip()

    def __str__(self) -> str:
        """What a failing test prints: value, band, source."""
        reach = f" +/- {self.reach:.3g}" if self.reach else ""
        word = "met" if self.met else "MISSED"
        text = f"{word} ({self.strength}) {self.name}: {self.measured:.4g}{reach} {self.unit}"
        return f"{text} against {self.band_text}; {self.source}"


@dataclass(frozen=True)
class Group:
    """One experiment and the rows that are read off it; `run(quick)` carries it out."""

    name: str
    run: Callable[[bool], Any]
    judge: Callable[[Any], tuple[Check, ...]]


def against(key: str, measured: float, strength: str, **more: Any) -> Check:
    """A row against the band of a figure."""
    f = figure(key)
    name = more.pop("name", f.meaning)
    return Check(name, strength, float(measured), f.low, f.high, f.unit, f.citation(), **more)


def ordering(name: str, differences: Array, unit: str, source: str, **more: Any) -> Check:
    """A row for a sign: the mean of paired differences, one a seed, must be above 0, interval and all."""
    mean, reach = mean_and_reach(differences)
    return Check(name, "C", mean, 0.0, INFINITE, unit, source, reach, **more)


def mean_and_reach(values: Array) -> tuple[float, float]:
    """Mean and half of its 95 % interval (Student)."""
    from scipy.stats import t

    reach = t.ppf(0.975, len(values) - 1) * values.std(ddof=1) / np.sqrt(len(values))
    return float(values.mean()), float(reach)


def seeds(quick: bool, few: int = 10, many: int = 12) -> Sequence[int]:
    """Which seeds are run? Never fewer than ten where a sign is asked for."""
    return range(1, (few if quick else many) + 1)


WALKER_DENSITIES = {
    0.5: "crowd.walkers_speed_at_half_m_s",
    1.0: "crowd.walkers_speed_at_1_m_s",
    2.0: "crowd.walkers_speed_at_2_m_s",
    3.0: "crowd.walkers_speed_at_3_m_s",
    4.0: "crowd.walkers_speed_at_4_m_s",
}
RUNNER_DENSITIES = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0)

STRIDE_CAUSE = (
    "the rule that a standing body needs 0.8 m ahead before it sets off holds at every stop, not only "
    "before the first stride; at three a square metre nobody has that room, so nobody moves again"
)
WIDE_CAUSE = (
    "whoever is up to 0.2 m beside the body's width is followed with the full time gap, softened only "
    "in its acceleration: about one file of runners a metre of width forms instead of 1.5"
)
PEAK_CAUSE = (
    "at the time gap of 0.7 s the closed corridor passes at most 1.3 /s/m, and so does Weidmann's own "
    "curve (1.2): both cannot be met with one time gap"
)


def _walkers_corridor(found: flow.SpeedDensity) -> tuple[Check, ...]:
    pairs = zip(found.density_per_m2, found.speed_m_s, strict=True)
    rows = [against(WALKER_DENSITIES[density], speed, "B") for density, speed in pairs]
    return tuple(_caused(row, STRIDE_CAUSE) for row in rows)


def _caused(row: Check, cause: str) -> Check:
    return row if row.met else replace(row, cause=cause)


def _runners_corridor(found: flow.SpeedDensity) -> tuple[Check, ...]:
    most = found.saturation_per_s_m
    at = found.density_per_m2[found.flow_per_s_m.argmax()]
    note = f"largest flow in a closed corridor, at {at:g} a square metre"
    return (
        _caused(against("crowd.runners_flow_per_s_m", most, "B", note=note), WIDE_CAUSE),
        _caused(against("crowd.runners_flow_widest_per_s_m", most, "B", note=note), WIDE_CAUSE),
    )


def _walkers_bottleneck(found: flow.FlowWidth) -> tuple[Check, ...]:
    key = "crowd.walkers_bottleneck_per_s_m"
    rows = [
        against(key, each, "B", name=f"flow of walkers through {width:g} m, a metre of width")
        for width, each in zip(found.width_m, found.flow_per_s_m, strict=True)
    ]
    source = figure(key).citation()
    straight = Check(
        "flow of walkers against width", "B", found.straightness, 0.95, 1, "R2", source
    )
    note = "published: linear; R2 of 0.95 is our reading of it"
    return (*(_caused(row, PEAK_CAUSE) for row in rows), replace(straight, note=note))


def _runners_throat(found: flow.FlowWidth) -> tuple[Check, ...]:
    rows = [
        against(
            "crowd.runners_flow_per_s_m",
            each,
            "B",
            name=f"flow of runners at the end of a funnel to {width:g} m, a metre of width",
        )
        for width, each in zip(found.width_m, found.flow_per_s_m, strict=True)
    ]
    return tuple(_caused(row, WIDE_CAUSE) for row in rows)


def _start_waves(found: dict[str, flow.StartWave]) -> tuple[Check, ...]:
    note = (
        "rows 1 m apart, as in the boxes; closer rows are slower, rows 1.2 m apart set off at once"
    )
    return tuple(
        against(
            "crowd.start_wave_m_s",
            wave.speed_m_s,
            "B",
            name=f"start wave of standing {kind}s",
            note=note,
        )
        for kind, wave in found.items()
    )


def _single_file(found: flow.Following) -> tuple[Check, ...]:
    worst = np.abs(found.gap_m / found.law_m - 1).max()
    source = "Treiber, Hennecke and Helbing (2000), without the free-road term. (computed)"
    name = "gap in single file against s0 + T v, largest deviation"
    note = "the law by itself: shows that the kernel carries it out, not that runners keep it"
    return (Check(name, "A", float(worst), 0.0, 0.01, "", source, note=note),)


HANNUN = "Hannun et al. (2022). PLoS ONE e0264635; sign only. (seen)"
SIDES_CAUSE = (
    "the sideways avoidance of collisions pushes the outer files onto the outer wall, and the walkers' "
    "sideways grip of 2 m/s2 is used up at 3 m/s: without the avoidance the outer side of the walkers "
    "is slower by 0.1 m/s instead of 0.5, and that of the runners faster by 0.17 +/- 0.14"
)


def _corner(found: dict[str, corner.CornerSides]) -> tuple[Check, ...]:
    rows = []
    for kind, sides in found.items():
        slow, fast = sides.wished_m_s
        name = f"dense {kind}s round a corner, wish {fast:g} m/s: inner side slower by"
        rows.append(ordering(name, sides.slower_m_s[1], "m/s", HANNUN))
        name = f"dense {kind}s: inner side slower at {fast:g} m/s than at {slow:g} m/s, by more"
        more = sides.slower_m_s[1] - sides.slower_m_s[0]
        rows.append(ordering(name, more, "m/s", HANNUN))
    return tuple(_caused(row, SIDES_CAUSE) for row in rows)


def _twenty(found: corner.CorridorCorner) -> tuple[Check, ...]:
    source = figure("crowd.corner_crossings").citation()
    note = "from the places alone, between two steps too"
    name = "people of 20 who arrive behind the corner of a 2 m corridor"
    return (
        against("crowd.corner_crossings", found.crossings, "A", note=note),
        Check(name, "A", found.arrived, 20, 20, "", source),
    )


def _flip(found: corner.Flip) -> tuple[Check, ...]:
    source = "A sharp turn is faster taken wide in the pack. (common practice)"
    name = f"{found.runners[-1]} runners, all others inside: the outside is faster by"
    return (ordering(name, found.difference_s[-1, -1], "s", source),)


def _closed_forms(_: object) -> tuple[Check, ...]:
    arrival = queue.line_arrivals_s(200, 100.0, 300.0, 5.0)
    delay = queue.queue_delay_s(arrival, 16.0)
    free = queue.free_straight_m(200, 5.0, 0.35, 16.0)
    per_m = figure("crowd.door_165_flow_per_s").value / 1.4
    door, hall = queue.through_s(165, 1.4, per_m), queue.through_s(200, 3.0, per_m)
    note = "a hand calculation: tests the formula, not the simulation"
    values = {
        "crowd.queue_last_through_s": (arrival + delay).max(),
        "crowd.queue_mean_delay_s": delay.mean(),
        "crowd.queue_largest_delay_s": delay.max(),
        "crowd.queue_free_straight_m": free,
        "crowd.door_165_s": door,
        "crowd.corridor_200_s": hall,
    }
    return tuple(against(key, value, "A", note=note) for key, value in values.items())


def _instant(found: queue.InstantArrival) -> tuple[Check, ...]:
    source = figure("crowd.queue_mean_delay_s").reference
    mean, reach = mean_and_reach(found.mean_ratio)
    name = "all at once at a throat: mean loss over (N - 1) / 2C"
    note = (
        "600 people; C from the same run, so this tests the straight line; 5 % for discrete bodies"
    )
    return (Check(name, "A", mean, 0.95, 1.05, "", f"{source} (computed)", reach, note),)


BOGENBERGER = "Bogenberger, Treiber and Malcolm (2025). Physica A 665; signs. (seen)"


def _wider(found: queue.Compared) -> tuple[Check, ...]:
    return (
        ordering(
            "line of 60 m instead of 30 m: less lost by", found.saved_s(0, 1), "s", BOGENBERGER
        ),
        ordering(
            "straight of 240 m instead of 60 m: less lost by", found.saved_s(0, 2), "s", BOGENBERGER
        ),
    )


def _dispersion(found: queue.Compared) -> tuple[Check, ...]:
    source = figure("crowd.queue_free_straight_m").citation()
    rows = {
        "straight of 400 m instead of 100 m: less lost by": (0, 1),
        "the same with half the spread of speeds": (2, 3),
        "half the spread of speeds, 100 m: more lost by": (2, 0),
        "half the spread of speeds, 400 m: more lost by": (3, 1),
    }
    return tuple(ordering(name, found.saved_s(*pair), "s", source) for name, pair in rows.items())


def _exchanged(found: queue.Compared) -> tuple[Check, ...]:
    mean, reach = mean_and_reach(found.saved_s(0, 1))
    name = "mean loss at a throat when the boxes' middle and ends change places: change"
    note = f"band: its own 95 % interval about 0; the loss itself is {found.loss_s[0].mean():.1f} s"
    source = f"{figure('crowd.queue_mean_delay_s').reference} (computed)"
    band = round(reach, 3)
    return (Check(name, "A", mean, -band, band, "s", source, reach, note),)


def _half_closed(found: queue.Openings) -> tuple[Check, ...]:
    note = "everybody is given an opening beforehand: a course has one way through"
    return (against("crowd.half_openings_factor", found.factor, "B", note=note),)


DELAYS_S = tuple(range(10, 101, 10))


def _own_times(moved: Array) -> tuple[Check, ...]:
    late = np.abs(moved - np.array(DELAYS_S)).max()
    source = figure("crowd.response_step_s").citation()
    name = "ten runners told to wait 10 to 100 s: largest error of setting off"
    step = figure("clock.step_s").value
    note = "one step, 0.05 s, is allowed"
    return (Check(name, "A", float(late), 0.0, step * (1 + 1e-6), "s", source, note=note),)


def _open_data(found: tuple[float, float] | None) -> tuple[Check, ...]:
    if found is None:
        return ()
    note = "the data themselves, read anew: a saturated start gives a straight line"
    rate, straight = found
    return (
        against("crowd.gun_rate_per_s", rate, "B", note=note),
        against("crowd.gun_straightness", straight, "B", note=note),
    )


RUNNERS = crowd_of("runner", RUNNER_M_S)
WALKERS = crowd_of("walker", WALKER_M_S)

GROUPS: tuple[Group, ...] = (
    Group(
        "runners in a corridor",
        lambda quick: flow.closed_corridor(RUNNERS, RUNNER_DENSITIES),
        _runners_corridor,
    ),
    Group(
        "walkers in a corridor",
        lambda quick: flow.closed_corridor(WALKERS, tuple(WALKER_DENSITIES)),
        _walkers_corridor,
    ),
    Group(
        "runners at a throat",
        lambda quick: flow.runners_throat(RUNNERS, (2, 4, 6, 8), range(1, 3 if quick else 6)),
        _runners_throat,
    ),
    Group(
        "walkers at a bottleneck",
        lambda quick: flow.walkers_bottleneck(
            WALKERS, (0.8, 1.2, 1.6, 2.0, 2.4), range(1, 2 if quick else 4)
        ),
        _walkers_bottleneck,
    ),
    Group(
        "start wave",
        lambda quick: {c.kind: flow.start_wave(c) for c in (RUNNERS, WALKERS)},
        _start_waves,
    ),
    Group("single file", lambda quick: flow.single_file(RUNNERS, (2, 3, 4)), _single_file),
    Group(
        "corner sides",
        lambda quick: {
            c.kind: corner.corner_sides(c, (1.5, 3.0), seeds(quick, 16, 24))
            for c in (RUNNERS, WALKERS)
        },
        _corner,
    ),
    Group("twenty round a corner", lambda quick: corner.twenty_round_a_corner(WALKERS), _twenty),
    Group(
        "inside or outside",
        lambda quick: corner.flip_chart(
            (210,) if quick else (70, 140, 210),
            (0.0, 0.5, 1.0) if quick else (0.0, 0.25, 0.5, 0.7, 0.85, 1.0),
            range(1, 4 if quick else 7),
        ),
        _flip,
    ),
    Group("closed forms", lambda quick: None, _closed_forms),
    Group(
        "all at once",
        lambda quick: queue.instant_arrival(RUNNERS, range(1, 5 if quick else 9)),
        _instant,
    ),
    Group("wider or longer", lambda quick: queue.wider_or_longer(seeds(quick)), _wider),
    Group("dispersion", lambda quick: queue.dispersion(seeds(quick)), _dispersion),
    Group("exchanged", lambda quick: queue.exchanged(seeds(quick, many=16)), _exchanged),
    Group(
        "half closed",
        lambda quick: queue.half_closed(WALKERS, range(1, 3 if quick else 5)),
        _half_closed,
    ),
    Group("own times", lambda quick: queue.own_times_s(RUNNERS, DELAYS_S), _own_times),
    Group("open data", lambda quick: ten_mile_start(), _open_data),
)


def group(name: str) -> Group:
    """The experiment of this name. Raises KeyError."""
    return {each.name: each for each in GROUPS}[name]
