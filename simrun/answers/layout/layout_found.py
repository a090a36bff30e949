"""What did a layout study find out? The present layout, a sweep, a search, and which layout is chosen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from simrun.answers.layout.fair.fairness import fairer_by_points, fairer_by_s, unfairness_s
from simrun.answers.layout.fair.layout_sample import LayoutSample, race_means
from simrun.answers.layout.varied import headline, present
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import Sure, sure
from simrun.trials.statistics import holm

DOUBT = 0.05

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
class Weighed:
    """A layout beside the present one in the three things that a director weighs, the same seeds in both.

    closer_s: by how many seconds the boxes lie closer together. lost_s: how many seconds more the mean of the
    field loses. denser: how many more people stand on the fullest square metre, mean of the races.
    points_closer: by how many team points at the finish, told beside the three where the races go so far.
    """

    values: dict[str, float]
    sample: LayoutSample
    closer_s: Sure
    lost_s: Sure
    denser: Sure
    points_closer: Sure | None = None

    @property
    def gains(self) -> tuple[Sure, Sure, Sure]:
        """The three, each so that less than nothing is better."""
        return self.closer_s.turned(), self.lost_s, self.denser

    @property
    def is_worse(self) -> bool:
        """Is it seen to be worse in any of the three?"""
        return any(gain.low > 0 for gain in self.gains)


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
    all its changes together gain; changes: what each gains alone, the largest gain first. unfit: what was
    tried and does not fit, of the changes alone too, with the reason.
    """

    tried: int
    now: LayoutSample
    front: list[Raced]
    best: dict[str, float]
    whole: Sure
    changes: list[Change]
    unfit: list[tuple[dict[str, float], str]] = field(default_factory=list)

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

    ranges: the values that were asked for, by setting. compared_at: the mark asked for, empty: the usual one.
    aim: the gate that a line with equal ways to it is asked for.
    """

    scenario: Scenario
    ranges: Mapping[str, tuple[float, ...]]
    seeds: tuple[int, ...]
    now: LayoutSample
    sweep: Sweep | None = None
    searched: Searched | None = None
    compared_at: str = ""
    aim: str = ""

    @property
    def at(self) -> str:
        """The checkpoint at which layouts are compared."""
        return headline(self.now.day, self.compared_at)

    @cached_property
    def weighed(self) -> list[Weighed]:
        """Every layout of the sweep beside the present one."""
        raced = self.sweep.raced if self.sweep else []
        return [self._weighed(values, sample) for values, sample in raced]

    def _weighed(self, values: dict[str, float], sample: LayoutSample) -> Weighed:
        lost, dense = (
            [ask(each) for each in (sample, self.now)]
            for ask in (
                lambda s: race_means(s.lost_s[:, :, s.at(self.at)]),
                lambda s: s.crowd_of("density_per_m2"),
            )
        )
        later, denser = (sure(one - other, self.now.points) for one, other in (lost, dense))
        closer = fairer_by_s(self.now, sample, self.at)
        points = fairer_by_points(self.now, sample)
        return Weighed(values, sample, closer, later, denser, points)

    @cached_property
    def better(self) -> list[Weighed]:
        """Layouts better in one of the three and worse in none that we can see, the fairest of them first.

        Better: seen once every layout and each of the three has been looked at (Holm's correction). Worse:
        seen by itself. Check: tests/unit/answers/test_layout_weighed.py.
        """
        doubt = holm([gain.p_value for each in self.weighed for gain in each.gains])
        found = [
            each
            for each, doubts in zip(self.weighed, doubt.reshape(-1, 3), strict=True)
            if not each.is_worse
            and any(p < DOUBT and g.mean < 0 for p, g in zip(doubts, each.gains, strict=True))
        ]
        return sorted(found, key=lambda each: -each.closer_s.mean)

    @cached_property
    def fairest(self) -> Weighed | None:
        """The layout of the sweep whose boxes lie closest together: never by itself a recommendation."""
        spread = {id(each): unfairness_s(each.sample, self.at).mean for each in self.weighed}
        return min(self.weighed, key=lambda each: spread[id(each)], default=None)

    def chosen(self) -> Raced:
        """The layout whose stakes are told: the search's fairest, the line asked for by its gate, the
        best of a sweep that is better and no worse, else the present one.
        """
        if self.aim and self.weighed:
            return self.weighed[0].values, self.weighed[0].sample
        if self.searched is not None:
            known = {tuple(values.items()): (values, s) for values, s in self.searched.front}
            return known[tuple(self.searched.best.items())]
        return (self.better[0].values, self.better[0].sample) if self.better else ({}, self.now)

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
