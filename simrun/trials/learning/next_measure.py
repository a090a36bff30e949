"""What is worth measuring next? By how much would each thing not yet seen narrow an answer, on average?

All out of the same table of races: what an answer is at every mix of inputs, what would have been seen
there, and how much of the one the other foretells.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.trials.learning.learn_inputs import explained, foretold_by, scores_of
from simrun.trials.learning.lesson import Source, figures_in
from simrun.trials.learning.seen_races import START_MAT, Table, Watched
from simrun.trials.learning.sightings import (
    ABREAST,
    GAP,
    RATE,
    SPLITS,
    STARTS,
    THIRDS,
    Sighting,
)
from simrun.trials.races import Outcome

Array = NDArray[np.float64]

LINE, EDGES = "line", "edges"
"""Seconds that the inside of the first turn takes more than the outside; that the boxes of the outer
quarters of the line lose on those between, at the mark behind the first turn or narrowing."""

TRIES = {RATE: 1.0, ABREAST: 3.0, GAP: 15.0}
"""So many numbers of each kind are what somebody brings home from ten minutes."""

LEAST = 0.02
"""Of an answer of which the inputs foretell no more than this nothing can be said."""


@dataclass(frozen=True)
class Worth:
    """What one thing to be measured is worth for an answer.

    now_s, then_s: how uncertain the inputs leave the answer, one standard deviation, with what was seen, and
    on average with this as well.
    """

    sighting: Sighting
    answer: str
    now_s: float
    then_s: float


def answers_in(table: Table) -> dict[str, Array]:
    """Every answer in every race, (R,) seconds, chance and all; without those that this course has not."""
    watched = table.watched
    found = {}
    if watched.corners:
        apex = min(watched.corners, key=watched.mark)
        at = watched.mark(apex)
        if 0 < at < len(watched.marks) - 1:
            found[LINE] = np.array([_line_s(race, at) for race in table.races])
    found[EDGES] = np.array([_edges_s(race, _end(watched)) for race in table.races])
    return found


def _end(watched: Watched) -> int:
    """The mark behind the first named place of the course."""
    gates = watched.day.strip.gates
    last_m = watched.day.strip.station_m[gates[0].last_cut] if gates else 200.0
    stations = np.array([mark.station_m for mark in watched.day.strip.checkpoints])
    return int(min(len(stations) - 1, np.searchsorted(stations, last_m - 1.0)))


def _line_s(race: Outcome, apex: int) -> float:
    took = race.crossing_s[:, apex + 1] - race.crossing_s[:, apex - 1]
    return _mean(took[race.line == "inside"]) - _mean(took[race.line == "outside"])


def _edges_s(race: Outcome, at: int) -> float:
    low, high = np.quantile(race.box, (0.25, 0.75))
    outer = (race.box < low) | (race.box > high)
    return _mean(race.crossing_s[outer, at]) - _mean(race.crossing_s[~outer, at])


def _mean(values: Array) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) else np.nan


def candidates(watched: Watched, sources: Sequence[Source]) -> Iterator[Sighting]:
    """Everything that may be measured at a named place and was not."""
    had = {(each.kind, each.place) for source in sources for each in source.sightings}
    throats = {gate.name for gate in watched.day.strip.gates if gate.kind == "throat"}
    count = watched.day.runners
    for name in watched.marks:
        kinds = [THIRDS] if name in watched.corners else [SPLITS]
        kinds += [RATE, ABREAST, GAP] if name in throats else []
        kinds = [STARTS] if name == START_MAT else kinds
        for kind in kinds:
            if (kind, (name,)) not in had:
                values = (
                    (count, 0.0, 0.0) if kind == THIRDS else (0.0,) * int(TRIES.get(kind, count))
                )
                yield Sighting(kind, (name,), tuple(map(float, values)))


def worths(table: Table, sources: Sequence[Source], used: Sequence[Array]) -> list[Worth]:
    """By how much would everything not yet measured narrow every answer? The most first.

    used: the figures of the sources in the table, those that are used. What an answer is at some inputs is a
    ridge through the races; how much figures foretell of it is told out of sample. An average over what may
    be seen. Check: tests/unit/trials/test_next_measure.py.
    """
    had = np.hstack(list(used)) if used else np.zeros((len(table.races), 0))
    more = list(candidates(table.watched, sources))
    extra = figures_in(table, table.races, [Source(each.name, (each,)) for each in more])
    found = []
    for name, raw in answers_in(table).items():
        known = np.isfinite(raw)
        if known.sum() < len(raw) / 2:
            continue
        answer = np.where(known, raw, np.nanmean(raw))
        share, at_inputs = foretold_by(scores_of(table.inputs), answer)
        if share < LEAST:
            continue
        left = _left(at_inputs, had)
        for each, figures in zip(more, extra, strict=True):
            then = min(left, _left(at_inputs, np.hstack([had, figures])))
            found.append(Worth(each, name, left, then))
    return sorted(found, key=lambda worth: worth.then_s / worth.now_s)


def _left(answer: Array, figures: Array) -> float:
    """How uncertain is an answer still, once figures are known? One standard deviation."""
    share = explained(figures, answer) if figures.shape[1] else 0.0
    return float(answer.std() * np.sqrt(1.0 - share))
