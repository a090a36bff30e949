"""What would the races say of this layout? From few races at once, growing surer, dropped at the next drag."""

from __future__ import annotations

import tempfile
import threading
import traceback
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np

from simrun.answers.layout.layout_measures import LayoutSample, mean_of, race_means, unfairness_s
from simrun.answers.layout.layout_sweep import race_layout
from simrun.answers.layout.varied import headline
from simrun.base.errors import SimrunError
from simrun.desk.day_view import problem_lines
from simrun.measure.crowd import first_narrowing_cut
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import Sure, sure

SIDE_BY_SIDE = 2
"""Races run in two threads of this process: the kernel lets go of the interpreter, and no process is awaited."""

ROUNDS = (2, 4, 8, 16, 32)
"""So many races are told of, one after the other."""

BEYOND_M = 60.0
"""Races end so far behind the first narrowing: there the line has said what it says."""


class _Dropped(Exception):
    """Another layout is asked about already."""


class Estimates:
    """The estimate of the layout that is on the page now. Check: tests/unit/desk/test_estimates.py."""

    def __init__(self) -> None:
        self._number = 0
        self._told: dict[str, Any] = {}
        self._lock = threading.Lock()
        self._hands = ThreadPoolExecutor(SIDE_BY_SIDE, thread_name_prefix="estimate")

    def begin(self, day: Scenario) -> int:
        """Ask about this layout and no longer about the last one; gives the number of the question."""
        with self._lock:
            self._number += 1
            number = self._number
            self._told = {"number": number, "races": 0, "state": "running"}
        threading.Thread(target=self._race, args=(number, day), daemon=True).start()
        return number

    def drop(self) -> None:
        """Ask about nothing any more."""
        with self._lock:
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
        def going_on(_: float) -> None:
            if number != self._number:
                raise _Dropped

        try:
            with tempfile.TemporaryDirectory(prefix="simrun-desk-") as folder:
                drawn = with_inputs_as(day, True)
                for count in ROUNDS:
                    going_on(0.0)
                    how = {"executor": self._hands, "workers": SIDE_BY_SIDE, "progress": going_on}
                    seeds = tuple(range(1, count + 1))
                    store = Path(folder) / "layout_races.db"
                    until = until_m(day)
                    found = race_layout(drawn, {}, seeds, store, until_m=until, **how)
                    last = count == ROUNDS[-1]
                    self._tell(number, figures_of(found) | {"state": "done" if last else "running"})
        except _Dropped:
            return
        except SimrunError as wrong:
            self._tell(number, {"state": "failed", "told": problem_lines(wrong)})
        except Exception:
            traceback.print_exc()
            self._tell(number, {"state": "failed", "told": []})

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
        "slowed": _three(sure(sample.crowd_of("slowed_share"), sample.points)),
        "density": mean_of(sample, "density_per_m2"),
        "density_highest": float(np.nanmax(density)) if not np.isnan(density).all() else None,
    }


def _three(found: Sure) -> list[float | None]:
    return [_known(found.mean), _known(found.low), _known(found.high)]


def _known(value: float) -> float | None:
    return round(float(value), 3) if np.isfinite(value) else None
