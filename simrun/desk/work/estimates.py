"""What would races say of this layout? From few of them at once, growing surer, dropped at the next drag."""

from __future__ import annotations

import threading
import traceback
from concurrent.futures import CancelledError, ThreadPoolExecutor
from contextlib import suppress
from typing import Any

import numpy as np

from simrun.answers.layout.fair.fairness import unfairness_s
from simrun.answers.layout.fair.layout_sample import LayoutSample, mean_of, race_means, sample_of
from simrun.answers.layout.varied import headline, layout_of
from simrun.base.errors import SimrunError
from simrun.desk.day_view import problem_lines
from simrun.desk.work.drawn_way import Drawn, drawn_text
from simrun.measure.crowd import first_narrowing_cut
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.reader import read_parts
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import Sure, points_of, sure
from simrun.trials.races import Outcome, line_outcome

SIDE_BY_SIDE = 2
"""Races run in two threads of this process: the kernel lets go of the interpreter."""

ROUNDS = (2, 4, 8, 16, 32)
"""So many races are told of, one after the other."""

BEYOND_M = 25.0
"""Races end so far behind the first narrowing: there the line has said what it says."""


class _Dropped(Exception):
    """Another layout is asked about already."""


def warm() -> None:
    """Have the engine compiled, or found in its cache, before somebody waits: by a race of three."""
    few = Drawn("few", np.array([[0.0, 0.0], [90.0, 0.0], [90.0, 60.0]]), 6.0, 3.0, 1, 2.5, 3)
    with suppress(SimrunError):  # whoever asks for races is told
        line_outcome(read_parts(drawn_text(few), {}, "few.toml"), 1)


class Estimates:
    """The estimate of the layout that is on the page now. Check: tests/journeys/test_desk.py."""

    def __init__(self) -> None:
        self._number, self._warm = 0, False
        self._told: dict[str, Any] = {}
        self._lock = threading.Lock()
        self._hands = ThreadPoolExecutor(SIDE_BY_SIDE, thread_name_prefix="estimate")

    def warm(self) -> None:
        """Fetch the engine beside whatever else is done, once."""
        with self._lock:
            if self._warm:
                return
            self._warm = True
        threading.Thread(target=warm, daemon=True).start()

    def begin(self, day: Scenario) -> int:
        """Ask about this layout and no longer about the last one; gives the number of the question."""
        with self._lock:
            self._number += 1
            number = self._number
            self._told = {"number": number, "races": 0, "state": "running"}
        threading.Thread(target=self._race, args=(number, day), daemon=True).start()
        return number

    def drop(self, number: int | None = None) -> None:
        """Ask about nothing any more; with a number, only where that is still the question."""
        with self._lock:
            if number in (None, self._number):
                self._number += 1

    def close(self) -> None:
        """Let go of the threads."""
        self.drop()
        self._hands.shutdown(wait=False, cancel_futures=True)

    def view(self) -> dict[str, Any]:
        """What is known by now."""
        with self._lock:
            return dict(self._told)

    def _race(self, number: int, day: Scenario) -> None:
        try:
            laid = layout_of(with_inputs_as(day, True), {}, until_m(day))
            running = [
                self._hands.submit(self._one, number, laid, seed + 1) for seed in range(ROUNDS[-1])
            ]
            for count in ROUNDS:
                outcomes = [future.result() for future in running[:count]]
                seeds = tuple(range(1, count + 1))
                found = figures_of(sample_of(laid, outcomes, points_of(laid, seeds), seeds))
                state = "done" if count == ROUNDS[-1] else "running"
                self._tell(number, {**found, "state": state})
        except (_Dropped, CancelledError):  # another question, or the desk is closed
            return
        except SimrunError as wrong:
            self._tell(number, {"state": "failed", "told": problem_lines(wrong)})
        except Exception:
            traceback.print_exc()
            self._tell(number, {"state": "failed", "told": []})

    def _one(self, number: int, laid: Scenario, seed: int) -> Outcome:
        """One race, which ends as soon as another layout is asked about."""

        def still_asked(share: float) -> None:
            if number != self._number:
                raise _Dropped

        still_asked(0.0)
        return line_outcome(laid, seed, still_asked)

    def _tell(self, number: int, told: dict[str, Any]) -> None:
        with self._lock:
            if number == self._number:
                self._told = {"number": number, **told}


def until_m(day: Scenario) -> float:
    """Where the races of an estimate end."""
    strip = day.strip
    cut = first_narrowing_cut(strip)
    cut = strip.gates[0].last_cut if cut is None and strip.gates else cut
    at_m = strip.length_m if cut is None else float(strip.station_m[cut]) + BEYOND_M
    return min(at_m, strip.length_m)


def figures_of(sample: LayoutSample) -> dict[str, Any]:
    """The raced figures with their ranges; a range that so few races leave open is None.

    spread_s: between the boxes; lost_s: mean of the field, alone from the best box; slowed: share below half
    of the wished speed; density: the highest over 1 m2 and 1 s, the mean and the highest of the races.
    """
    at = headline(sample.day)
    lost = race_means(sample.lost_s[:, :, sample.at(at)])
    density = sample.crowd_of("density_per_m2")
    return {
        "races": len(sample.box),
        "at": at,
        "spread_s": _three(unfairness_s(sample, at)),
        "lost_s": _three(sure(lost, sample.points)),
        "slowed": _told_share(sure(sample.crowd_of("slowed_share"), sample.points)),
        "density": mean_of(sample, "density_per_m2"),
        "density_highest": float(np.nanmax(density)) if not np.isnan(density).all() else None,
    }


def _told_share(found: Sure) -> list[float | None]:
    """A range of means may reach beyond what a share can be; from none to all it says nothing: open."""
    mean, low, high = _three(found.mapped(lambda value: min(1.0, max(0.0, value))))
    return [mean, None, None] if (low, high) == (0.0, 1.0) else [mean, low, high]


def _three(found: Sure) -> list[float | None]:
    return [_known(found.mean), _known(found.low), _known(found.high)]


def _known(value: float) -> float | None:
    return round(float(value), 3) if np.isfinite(value) else None
