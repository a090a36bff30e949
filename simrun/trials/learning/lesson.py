"""What was learnt: out of one table of races, and of everything that was seen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from simrun.trials.learning.agreement import (
    Agreement,
    learners_without,
    with_any,
    with_others,
    with_posterior,
)
from simrun.trials.learning.learn_inputs import Learner, Posterior, learner_of, stacked
from simrun.trials.learning.seen_figures import figure_names, figures_of, figures_seen
from simrun.trials.learning.seen_races import Table
from simrun.trials.learning.sightings import Sighting
from simrun.trials.races import Outcome

Array = NDArray[np.float64]

SHARES = (0.05, 0.5, 0.95)


@dataclass(frozen=True)
class Source:
    """What was seen in one go: a list of splits, or one count. It agrees with others, or it does not."""

    name: str
    sightings: tuple[Sighting, ...]

    @cached_property
    def seen(self) -> Array:
        """The figures of all its sightings, (F,)."""
        return np.concatenate([figures_seen(each) for each in self.sightings])

    @property
    def figures(self) -> tuple[tuple[Sighting, str], ...]:
        """Which sighting and which of its figures is every one of them?"""
        return tuple((each, name) for each in self.sightings for name in figure_names(each))


@dataclass(frozen=True)
class Lesson:
    """table: the races. sources: what was fed in; used: the numbers of those that may be.

    any: every source against any inputs; others, fit (by number in `used`): against what the others leave,
    and against what all of them together leave. inputs (R, D) and figures, an array (R, F) a source, of the
    table.
    """

    table: Table
    sources: tuple[Source, ...]
    used: tuple[int, ...]
    any: tuple[Agreement, ...]
    others: tuple[Agreement, ...]
    fit: tuple[Agreement, ...]
    figures: tuple[Array, ...]
    learner: Learner | None
    posterior: Posterior | None

    @property
    def contradicts(self) -> bool:
        """Does what was seen contradict itself, or what is learnt of it? Then nothing is narrowed by it."""
        return not all(one.agrees for one in (*self.others, *self.fit))

    @property
    def is_learnt(self) -> bool:
        """Is there anything that was learnt, and may be used?"""
        return self.learner is not None and bool(self.learner.learnt.any()) and not self.contradicts

    @cached_property
    def learnt_keys(self) -> tuple[str, ...]:
        """Which inputs did the figures say anything of? Those they say most of first."""
        if self.learner is None:
            return ()
        order = np.argsort(-self.learner.seen, kind="stable")
        return tuple(self.table.keys[i] for i in order if self.learner.learnt[i])

    @cached_property
    def draws(self) -> Array:
        """Draws of the inputs in units of their figures, (M, D)."""
        assert self.posterior is not None
        low, high = self.ends
        return np.asarray(low + self.posterior.draws() * (high - low))

    @property
    def ends(self) -> tuple[Array, Array]:
        """The declared or written ranges, (D,) each."""
        free = self.table.watched.day.inputs.free
        low, high = np.array([free[key] for key in self.table.keys]).T
        return low, high

    def ranges(self) -> Mapping[str, tuple[float, float, float]]:
        """Between what do nine of ten draws of every input lie, and where is their middle?"""
        low, middle, high = np.quantile(self.draws, SHARES, axis=0)
        return {
            key: (float(low[i]), float(middle[i]), float(high[i]))
            for i, key in enumerate(self.table.keys)
        }

    def before(self) -> Array:
        """The inputs of the races, in units of their figures, (R, D): draws before anything was seen."""
        low, high = self.ends
        return np.asarray(low + self.table.inputs * (high - low))


def lesson_of(table: Table, sources: Sequence[Source]) -> Lesson:
    """Learn from everything that was seen and may be.

    A source that no mix of the inputs gives is left out; where those that are left contradict one another
    the lesson says so. Check: tests/journeys/test_learn.py.
    """
    figures = figures_in(table, table.races, sources)
    held = tuple(with_any(i, figures[i], source.seen) for i, source in enumerate(sources))
    used = tuple(one.source for one in held if one.agrees)
    known, seen = [figures[i] for i in used], [sources[i].seen for i in used]
    others = with_others(learners_without(table.inputs, known), known, seen)
    learner = learner_of(table.inputs, np.hstack(known)) if used else None
    posterior = learner.posterior(np.concatenate(seen)) if learner else None
    fit = with_posterior(posterior, known, seen) if posterior else []
    checks = (held, tuple(others), tuple(fit))
    return Lesson(table, tuple(sources), used, *checks, tuple(figures), learner, posterior)


def figures_in(
    table: Table, races: Sequence[Outcome], sources: Sequence[Source], first: int = 0
) -> list[Array]:
    """The figures of every source in some races of the table's day, (R, F) each, with errors of who looks.

    first: the number of the first race, for its errors: other races have other ones.
    """
    every = [each for source in sources for each in source.sightings]
    found = [
        figures_of(table.watched, race, every, first + number) for number, race in enumerate(races)
    ]
    parts, begin = [], 0
    for source in sources:
        end = begin + len(source.sightings)
        parts.append(stacked([each[begin:end] for each in found]))
        begin = end
    return parts
