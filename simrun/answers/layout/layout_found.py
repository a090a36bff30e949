"""What did a layout study find out? The present layout, a sweep, a search, and which layout is chosen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from simrun.answers.layout.layout_measures import LayoutSample, fairer_by_s, unfairness_s
from simrun.answers.layout.varied import headline, present
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import Sure

MOST_SHARE = 0.5
"""A change counts as most of the gain from half of it on."""

Raced = tuple[dict[str, float], LayoutSample]
"""The settings of a layout, and its races."""


@dataclass(frozen=True)
class Sweep:
    """Layouts that were raced, in order; and those that do not fit, with the reason."""

    raced: list[Raced]
    unfit: list[tuple[dict[str, float], str]]


@dataclass(frozen=True)
class Change:
    """One setting changed alone: what it gains in seconds between boxes, and as a share of the whole gain."""

    name: str
    value: float
    gain_s: Sure
    share: float
    ground_m: float


@dataclass(frozen=True)
class Searched:
    """What a search found. tried: how many layouts. front: those that nothing beats, with fresh races.

    now: the present layout with fresh races. best: the values that were fairest in the search. whole: what
    all its changes together gain; changes: what each gains alone, the largest gain first.
    """

    tried: int
    now: LayoutSample
    front: list[Raced]
    best: dict[str, float]
    whole: Sure
    changes: list[Change]

    @property
    def cheapest(self) -> Change | None:
        """The change that gets most of the gain for the least ground. None where no such gain is seen."""
        if not self.whole.low > 0:
            return None
        seen = [change for change in self.changes if change.gain_s.low > 0]
        much = [change for change in seen if change.share >= MOST_SHARE]
        return min(much, key=lambda change: (change.ground_m, -change.share), default=None)


@dataclass(frozen=True)
class Found:
    """Everything there is to tell: the present layout, the sweep, the search where one was asked for.

    ranges: the values that were asked for, by setting.
    """

    scenario: Scenario
    ranges: Mapping[str, tuple[float, ...]]
    seeds: tuple[int, ...]
    now: LayoutSample
    sweep: Sweep | None = None
    searched: Searched | None = None

    @property
    def at(self) -> str:
        """The checkpoint at which layouts are compared."""
        return headline(self.now.day)

    def fairest(self) -> tuple[dict[str, float], LayoutSample, Sure] | None:
        """The layout of the sweep whose boxes lie closest together, and how much closer than now."""
        if self.sweep is None:
            return None
        best = min(self.sweep.raced, key=lambda entry: unfairness_s(entry[1], self.at).mean)
        return (*best, fairer_by_s(self.now, best[1], self.at))

    def chosen(self) -> Raced:
        """The layout whose stakes are told: the search's fairest, else the sweep's, else the present one."""
        if self.searched is not None:
            known = {tuple(values.items()): (values, s) for values, s in self.searched.front}
            return known[tuple(self.searched.best.items())]
        fairest = self.fairest()
        return ({}, self.now) if fairest is None else fairest[:2]

    def every(self) -> list[Raced]:
        """The present layout first, then what was raced beside it; of a search, the fresh races."""
        now = self.searched.now if self.searched else self.now
        standing = present(self.scenario)
        own = {name: standing[name] for name in self.ranges if name in standing}
        return [(own, now), *self._others()]

    def chosen_number(self) -> int:
        """Which of `every`, from 0, is the chosen one? 0 is the present layout."""
        chosen = self.chosen()[1]
        others = [sample is chosen for _, sample in self._others()]
        return 1 + others.index(True) if any(others) else 0

    def _others(self) -> list[Raced]:
        if self.searched:
            return self.searched.front
        return self.sweep.raced if self.sweep else []
