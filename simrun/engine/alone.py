"""The same runners alone beside a race: what its time lost is measured against."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.engine.tracking import run_tracked
from simrun.state.tracks import WAYS, Tracks, no_tracks, places_m

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Alone:
    """Crossing times of the same runners with nobody near, (N, C), what was then left of the reserve on their
    own line, (N, C), the times of those who wish for what they wished in the race, (N, C), the reference
    box, and the tracks by place (none where no frames are kept)."""

    alone_s: Array
    reserve_m: Array
    raced_s: Array
    shortest_s: Array
    best_s: Array
    best_box: int
    tracks: Tracks


def nobody_alone(crossing_s: Array, best_s: Array | None = None, best_box: int = 1) -> Alone:
    """What stands in for alone-runs that were not run: nan, but for those from the best box if told."""
    unknown = np.full_like(crossing_s, np.nan)
    best_s = unknown if best_s is None else best_s
    tracks = no_tracks(len(crossing_s))
    return Alone(unknown, unknown, unknown, unknown, best_s, best_box, tracks)


@dataclass(frozen=True)
class AloneRuns:
    """Everybody alone, about to start: the ways in the order of WAYS, without the last where nobody races.

    box: from which the best way starts; tracked: are tracks by place kept?
    """

    ways: Sequence[Any]
    box: int
    tracked: bool = False

    def alone(self, threads: bool = False, beside: Callable[[], object] | None = None) -> Alone:
        """Run them to their end, and something else first. threads: all of that at the same time.

        The kernel lets other threads run, and nothing is shared: not a bit differs.
        Check: tests/properties/test_same_answer.py.
        """
        begins, at_m = self._places() if self.tracked else (np.zeros(0), np.zeros(0))
        jobs = [partial(run_tracked, way, at_m) if self.tracked else way.run for way in self.ways]
        if threads:
            found = self._at_the_same_time(jobs, beside)
        else:
            if beside:
                beside()
            found = [job() for job in jobs]
        return self._told(begins, at_m, found)

    def told(self) -> Alone:
        """What was run elsewhere, without tracks."""
        return self._told(np.zeros(0), np.zeros(0), [])

    def _at_the_same_time(
        self, jobs: Sequence[Callable[[], Any]], beside: Callable[[], object] | None
    ) -> list[Any]:
        """What the jobs give; `beside` is carried out here. Stopped, no way goes on in the background."""
        with ThreadPoolExecutor(len(jobs)) as pool:
            going = [pool.submit(job) for job in jobs]
            try:
                if beside:
                    beside()
                return [one.result() for one in going]
            except BaseException:
                for way in self.ways:
                    way.last_step = 0
                raise

    def _places(self) -> tuple[Array, Array]:
        """Where everybody stands on every way, (W, N), and the places that their tracks note."""
        begins = np.array([way.station_m() for way in self.ways])
        end_m = self.ways[0].scenario.strip.checkpoints[-1].station_m
        return begins, places_m(float(begins.min()), float(begins.max()), end_m)

    def _told(self, begins: Array, at_m: Array, found: Sequence[Any]) -> Alone:
        tapes = [way.tape for way in self.ways]
        order = [*range(len(tapes)), *[0] * (len(WAYS) - len(tapes))]  # nobody races: their own way
        tracks = no_tracks(len(tapes[0].crossing_s))
        if self.tracked:
            leaves, reached = (np.stack([found[way][part] for way in order]) for part in (0, 1))
            tracks = Tracks(at_m, begins[order], leaves, reached)
        own_s, shortest_s, best_s, raced_s = (tapes[way].crossing_s for way in order)
        return Alone(own_s, tapes[0].reserve_m, raced_s, shortest_s, best_s, self.box, tracks)
