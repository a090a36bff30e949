"""Are the seconds right? What every part of a course costs in the model, beside the deterministic queue.

A queue before a place that lets C runners a second through costs no more and no less than first come, first
served says. Where nothing queues, a crowd costs next to nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.engine.run import field_of, recording_of, run_race
from simrun.measure.hand_queue import queue_delay_s
from simrun.measure.places import CoursePlace, LostByPlace, lost_by_place
from simrun.scenario.changes.changes_course import with_checkpoints
from simrun.scenario.changes.changes_people import with_lines_shared
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.sources import figure
from simrun.sources.library import scenarios_folder
from simrun.state.account import passed_at
from simrun.state.arrays import GONE
from simrun.state.recording import Recording
from simrun.tactics.margins import keep_across_bends

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

SHIPPED = ("ferry_meadow", "ostrel_common", "sallow_heath", "dual_meet")
UNTIL_M = 1200.0
"""The start is over by then in every shipped scenario, and the first lap of the farm race is in."""

THIRDS = ("first", "middle", "last")
SHARE, PLUS_S, CROWDED_PLUS_S = 0.30, 1.0, 2.0
"""A middle third's delay may be off the queue by this share and so many seconds; by the larger number where
it would be within the smaller one if lines were shared evenly: there a line's crowding is the cause."""

LAST_M, SLOWED = 5.0, 0.85
"""A place is saturated while those who leave it run its last metres below this share of the speed alone."""

FREE_PER_M2 = 0.2
"""Where no more stand on a square metre nothing queues, however slow they run: somebody slow is followed."""

WINDOW, FEWEST = 11, 15
"""Over so many who leave one after the other, the one in the middle counts; of fewer no capacity is told."""


@dataclass(frozen=True)
class Section:
    """One place of one scenario over S races; thirds of the field as they leave it.

    delay_s (S, 3): traffic there, mean of a third. alone_s (S, 3): what the same takes alone. narrow_s,
    wide_s (S, 3): the deterministic queue with the low and the high end of the published capacities.
    own_s (S, 3): with the model's own capacity; 0 where it never was saturated. own_per_s_m (S,): that
    capacity a metre of the narrowest width, nan where it never was. density_per_m2 (S,): while the middle
    third was there. left_out (S,): runners who did not get through. regained_s (S, 3): of the delay what it
    takes to gather again the speed that was lost before this place, by the closed form of `regained_s`.
    shared_s (S, 3): the delay in the same races with lines and bends shared evenly and own places kept;
    the rest is the crowding of the chosen line.
    """

    scenario: str
    place: CoursePlace
    delay_s: Array
    alone_s: Array
    narrow_s: Array
    wide_s: Array
    own_s: Array
    own_per_s_m: Array
    density_per_m2: Array
    left_out: NDArray[np.int64]
    regained_s: Array
    shared_s: Array

    @property
    def crowding_s(self) -> float:
        """What the crowding of the chosen line costs the middle third, mean over races."""
        return self.middle_s - float(np.nanmean(self.shared_s[:, 1]))

    @property
    def middle_s(self) -> float:
        """The middle third's delay, mean over races."""
        return float(np.nanmean(self.delay_s[:, 1]))

    @property
    def meets_published(self) -> bool:
        """Does it lie between the queues at both ends of the published band, widened?"""
        return self._between(self.wide_s, self.narrow_s)

    @property
    def meets_own(self) -> bool:
        """Does it lie about the queue at the model's own capacity?"""
        return self._between(self.own_s, self.own_s)

    def _between(self, least_s: Array, most_s: Array) -> bool:
        """Between these queues, each widened; by more above where a line's crowding is the cause."""
        low = (1 - SHARE) * float(np.nanmean(least_s[:, 1]))
        high = (1 + SHARE) * float(np.nanmean(most_s[:, 1]))
        crowded = self.middle_s - self.crowding_s <= high + PLUS_S
        plus = CROWDED_PLUS_S if crowded else PLUS_S
        return low - PLUS_S <= self.middle_s <= high + plus


def queue_audit(
    scenarios: Sequence[Scenario] | None = None,
    seeds: Sequence[int] = range(1, 7),
    until_m: float = UNTIL_M,
    progress: Callable[[float], None] | None = None,
) -> tuple[Section, ...]:
    """What does every section cost the thirds of the field, beside what queue theory allows?

    scenarios: the shipped ones unless told. A section is a named place or the stretch between two.
    Formula: out = max(in, the one before out + 1/C), first come, first served, where in is when a runner
    comes to the section plus what it takes alone; C is capacity times the narrowest width.
    Source: deterministic queue, for example Newell 1982; capacities of Peckover, Raineri and Scanlan 2022.
    Check: tests/unit/answers/test_audit.py (a queue with a known answer).
    """
    days = [read(path) for path in shipped()] if scenarios is None else list(scenarios)
    sections: list[Section] = []
    for number, day in enumerate(days):
        short, found = _ended(day, until_m), []
        shared = with_lines_shared(short)
        for seed in seeds:
            told, even = audited(run_race(short, seed)), audited(evenly_shared(shared, seed))
            found.append(
                [(place, (*a, b[0])) for (place, a), (_, b) in zip(told, even, strict=True)]
            )
            if progress:
                progress((number + len(found) / len(seeds)) / len(days))
        sections += _over_races(day.name, found)
    return tuple(sections)


def evenly_shared(day: Scenario, seed: int) -> Recording:
    """The race of this day and seed with own places across the whole width of bends that nobody named.

    For a day with shared lines: lines are chosen at named turns alone, and drawn courses bend elsewhere.
    Check: tests/unit/answers/test_audit.py.
    """
    field = field_of(day, seed)
    margins = field.ways.margin_left, field.ways.margin_right
    # The place across that they stand at: by another they would cross the course first.
    keep_across_bends(*margins, day.strip, (1 + field.roster.throat_share) / 2)
    return recording_of(field.run(), seed)


def _ended(day: Scenario, until_m: float) -> Scenario:
    """The race day with one mark only, where the study ends: no further than its own last mark."""
    end_m = min(until_m, day.strip.checkpoints[-1].station_m)
    return with_checkpoints(day, [(f"at {end_m:.2f}", round(end_m, 2))])


def shipped() -> list[Any]:
    """The files of the shipped scenarios."""
    return [scenarios_folder() / f"{name}.toml" for name in SHIPPED]


def _over_races(name: str, races: list[list[tuple[CoursePlace, tuple[Any, ...]]]]) -> list[Section]:
    """The sections of one scenario, the races side by side."""
    found = []
    for each in zip(*races, strict=True):
        columns = zip(*(figures for _, figures in each), strict=True)
        found.append(Section(name, each[0][0], *(np.array(column) for column in columns)))
    return found


def audited(recording: Recording) -> list[tuple[CoursePlace, tuple[Any, ...]]]:
    """Every section of one race: its place and the figures of Section for this race."""
    split = lost_by_place(recording)
    ends = np.array([place.to_m for place in split.places])
    before = passed_at(recording, np.maximum(ends - LAST_M, 0.0))
    alone_last = split.passed.own_s[:, 1:] - before.own_s
    field_last = split.passed.field_s[:, 1:] - before.field_s
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(field_last > 0, alone_last / field_last, np.nan)
        speed = np.where(field_last > 0, LAST_M / field_last, np.nan)
    return [
        (place, _figures(recording, split, k, share[:, k], speed[:, k]))
        for k, place in enumerate(split.places)
    ]


def _figures(
    recording: Recording, split: LostByPlace, k: int, share: Array, speed_m_s: Array
) -> tuple[Any, ...]:
    place, passed = split.places[k], split.passed
    came, left = passed.field_s[:, k], passed.field_s[:, k + 1]
    alone = passed.own_s[:, k + 1] - passed.own_s[:, k]
    through = np.isfinite(left) & np.isfinite(alone)
    thirds = thirds_of(np.where(through, left, np.nan))
    last = left[through], share[through], speed_m_s[through]
    own = saturated_flow_per_s(*last, place.width_m) / place.width_m
    band = figure("crowd.runners_flow_per_s_m")
    queues = [
        _queue_s(came + alone, through, place.width_m * capacity)
        for capacity in (band.low, band.high, own)
    ]
    delays = [split.traffic_s[:, k], alone, *queues]
    means = [np.array([each[third].mean() for third in thirds]) for each in delays]
    crowd = _density_per_m2(recording, place, came[thirds[1]], left[thirds[1]])
    again = regained_s(*(_short_of_wish(recording, passed.field_s[:, k + end]) for end in (0, 1)))
    regained = np.array([np.nanmean(again[third]) if len(third) else np.nan for third in thirds])
    return (*means, own, crowd, int((~through).sum()), regained)


def regained_s(short_before: Array, short_after: Array) -> Array:
    """How long does it take to gather the speed that was lost before a place? Seconds, (N,).

    short_before, short_after: 1 - speed / wish as the place is entered and left. Formula: with
    v' = (w - v) / tau the time lost against running at the wish is tau (1 - v / w) in all, so tau times what
    the place gives back.
    Check: tests/unit/answers/test_audit.py.
    """
    tau_s = figure("runner.start_constant_s").value
    back: Array = tau_s * np.maximum(0.0, short_before - np.maximum(short_after, 0.0))
    return back


def _short_of_wish(recording: Recording, at_s: Array) -> Array:
    """By which share does everybody's speed lie below their wish at this moment of their own? (N,)"""
    frame = np.searchsorted(recording.times_s, np.nan_to_num(at_s))
    frame = np.minimum(frame, len(recording.times_s) - 1)
    rows = np.arange(len(at_s))
    speed, wish = (a[frame, rows] for a in (recording.speed_cm_s, recording.wished_cm_s))
    with np.errstate(invalid="ignore", divide="ignore"):
        short = 1.0 - speed.astype(float) / wish
    known = np.isfinite(at_s) & (speed != GONE) & (wish > 0)
    return np.where(known, short, 0.0)


def _queue_s(due_s: Array, through: NDArray[np.bool_], capacity_per_s: float) -> Array:
    """The deterministic queue of those who got through; nothing where nothing limits. (N,)"""
    delay = np.zeros(len(due_s))
    if np.isfinite(capacity_per_s):
        delay[through] = queue_delay_s(due_s[through], capacity_per_s)
    return delay


def thirds_of(left_s: Array) -> list[NDArray[np.int64]]:
    """Which runners are the first, middle and last third as they leave? Who did not leave is in none."""
    order = np.argsort(left_s, kind="stable")[: int(np.isfinite(left_s).sum())]
    return [np.asarray(part) for part in np.array_split(order, len(THIRDS))]


def saturated_flow_per_s(left_s: Array, share: Array, speed_m_s: Array, width_m: float) -> float:
    """How many a second leave while those who leave are slowed and many? The longest such spell.

    share, speed_m_s (N,): of the speed alone, and the speed, over the last metres. nan where there was no
    such spell, or where flow over speed and width says that hardly anybody was there.
    """
    order = np.argsort(left_s, kind="stable")
    times, slowed = left_s[order], share[order] < SLOWED
    if len(times) < FEWEST:
        return float("nan")
    around = np.lib.stride_tricks.sliding_window_view(slowed, WINDOW)
    mostly = np.concatenate([[False], around.mean(axis=1) > 0.5, [False]]).astype(int)
    begins, ends = np.flatnonzero(np.diff(mostly) == 1), np.flatnonzero(np.diff(mostly) == -1)
    if not len(begins):
        return float("nan")
    longest = int((ends - begins).argmax())
    first, last = begins[longest] + WINDOW // 2, ends[longest] + WINDOW // 2 - 1
    if last - first + 1 < FEWEST or times[last] <= times[first]:
        return float("nan")
    flow = (last - first) / (times[last] - times[first])
    density = flow / width_m / np.median(speed_m_s[order][first : last + 1])
    return float(flow) if density > FREE_PER_M2 else float("nan")


def _density_per_m2(recording: Recording, place: CoursePlace, came: Array, left: Array) -> float:
    """Runners a square metre while the middle third was there, from when its middle came to when it left."""
    if not place.area_m2 > 0 or not len(came):
        return float("nan")
    since, until = float(np.median(came)), float(np.median(left))
    ends = passed_at(recording, np.array([place.from_m, place.to_m])).field_s
    inside = np.fmin(ends[:, 1], until) - np.fmax(ends[:, 0], since)
    spent = np.clip(np.nan_to_num(inside, nan=0.0), 0.0, None).sum()
    return float(spent / (until - since) / place.area_m2) if until > since else float("nan")


def audit_table(audit: Sequence[Section]) -> pandas.DataFrame:
    """One row a section: means over races. Columns end in their unit; `published`, `own`: met or not."""
    import pandas as pd

    return pd.DataFrame([_row(section) for section in audit])


def _row(section: Section) -> dict[str, Any]:
    place = section.place
    row: dict[str, Any] = {
        "scenario": section.scenario,
        "section": place.name,
        "kind": place.kind,
        "from_m": place.from_m,
        "to_m": place.to_m,
        "width_m": place.width_m,
        "density_per_m2": _mean(section.density_per_m2),
    }
    columns = {"": section.delay_s, "queue_high_": section.narrow_s, "queue_low_": section.wide_s}
    columns |= {"queue_own_": section.own_s, "alone_": section.alone_s}
    columns |= {"regained_": section.regained_s, "shared_": section.shared_s}
    for name, values in columns.items():
        row |= {f"{name}{third}_s": _mean(values[:, t]) for t, third in enumerate(THIRDS)}
    return row | {
        "own_per_s_m": _mean(section.own_per_s_m),
        "saturated_races": int(np.isfinite(section.own_per_s_m).sum()),
        "crowding_middle_s": section.crowding_s,
        "races": len(section.delay_s),
        "left_out": int(section.left_out.sum()),
        "published": section.meets_published,
        "own": section.meets_own,
    }


def _mean(values: Array) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) else float("nan")


HEAD = (
    *(
        "section",
        "metres",
        "wide, m",
        "per m²",
        "first third, s",
        "middle third, s",
        "last third, s",
        "speed regained, s",
        "line's crowding, s",
    ),
    *("queue, published, s", "own capacity, /s/m", "queue, own, s", "left out", "published", "own"),
)


def audit_cells(audit: Sequence[Section]) -> list[list[str]]:
    """The table of the page: a head and a row a section, all as text."""
    return [list(HEAD), *(_cells(section) for section in audit)]


def _cells(section: Section) -> list[str]:
    row, place = _row(section), section.place
    each = [f"{row[f'{third}_s']:.1f}" for third in THIRDS]
    wide, narrow = row["queue_low_middle_s"], row["queue_high_middle_s"]
    known = row["own_per_s_m"] == row["own_per_s_m"]
    return [
        f"{section.scenario}: {place.name} ({place.kind})",
        f"{place.from_m:.0f} to {place.to_m:.0f}",
        _text(place.width_m, 1),
        _text(row["density_per_m2"], 2),
        *each,
        _text(row["regained_middle_s"], 1),
        _text(row["crowding_middle_s"], 1),
        f"{wide:.1f} to {narrow:.1f}",
        f"{row['own_per_s_m']:.2f}" if known else "never saturated",
        f"{row['queue_own_middle_s']:.1f}",
        str(row["left_out"]),
        "met" if row["published"] else "missed",
        "met" if row["own"] else "missed",
    ]


def _text(value: float, digits: int) -> str:
    return f"{value:.{digits}f}" if value == value else "-"
