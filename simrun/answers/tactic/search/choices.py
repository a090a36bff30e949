"""Can an order be told from the others tried? Paired differences at the finish, all looked at at once."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from simrun.trials.how_sure import Judge, Sure
from simrun.trials.statistics import CONFIDENCE, holm

Array = NDArray[np.float64]
Word = TypeVar("Word", bound=Hashable)


@dataclass(frozen=True)
class Choice(Generic[Word]):
    """What was chosen of the words tried. later: by how many seconds every other is later at the finish, with
    its range; p_value: the same after all of them have been looked at (Holm).
    """

    chosen: Word
    later: Mapping[Word, Sure]
    p_value: Mapping[Word, float]

    @property
    def worse(self) -> tuple[Word, ...]:
        """Which are later beyond doubt?"""
        return tuple(
            word
            for word, found in self.later.items()
            if self.p_value[word] < 1 - CONFIDENCE and found.mean > 0
        )

    @property
    def as_good(self) -> tuple[Word, ...]:
        """Which may be just as good, the chosen one among them?"""
        worse = set(self.worse)
        return tuple(word for word in (self.chosen, *self.later) if word not in worse)

    @property
    def as_you_like(self) -> bool:
        """Can it be told from none of the others, or is there no other?"""
        return not self.worse


def choice_of(values: Mapping[Word, Array], chosen: Word, judge: Judge) -> Choice[Word]:
    """The chosen word against every other. values: seconds at the finish by word, (S,), paired by seed.

    Equal arms differ by nothing in every race, and that is never told as a difference.
    Check: tests/unit/answers/test_tactic.py.
    """
    others = [word for word in values if word != chosen]
    later = {word: judge(np.subtract(values[word], values[chosen])) for word in others}
    p_values = holm([found.p_value for found in later.values()])
    return Choice(chosen, later, dict(zip(others, map(float, p_values), strict=True)))


def fastest(values: Mapping[Word, Array]) -> Word:
    """The word with the least mean; the first of equals."""
    return min(values, key=lambda word: mean_of(values[word]))


def mean_of(values: Array) -> float:
    """The mean of who is there, endless of nobody."""
    return float("inf") if np.isnan(values).all() else float(np.nanmean(values))


def settled_choice(values: Mapping[Word, Array], plain: Word, judge: Judge) -> Choice[Word]:
    """The fastest word where it can be told from any other, else the plain one."""
    found = choice_of(values, fastest(values), judge)
    return found if found.worse or plain not in values else choice_of(values, plain, judge)
