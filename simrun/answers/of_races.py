"""An answer made of many races: it knows which engine ran them, and names who is left out of its means."""

from __future__ import annotations

from simrun.answers.kind import OfDay
from simrun.engine.batch.which_engine import last_engine
from simrun.measure.left_out import LeftOut
from simrun.pages.left_out_words import engine_words, left_out_words


class OfStudy(OfDay):
    """The answer of a study of one day, made as soon as its races are there. engine: that ran them."""

    def __post_init__(self) -> None:
        """Races of two engines are never in one answer, so the last study's is that of all of them."""
        object.__setattr__(self, "engine", last_engine())

    @property
    def foot(self) -> str:
        """What stands first at the foot of its page: which engine, where it is not the usual one, and who is
        missing."""
        return " ".join(part for part in (engine_words(self.engine), self.missing) if part)


class OfRaces(OfStudy):
    """The answer of many races of one day. left_out: who did not reach the last mark, over all of them."""

    left_out: LeftOut | None

    @property
    def missing(self) -> str:
        """How many are left out of the means, and why; empty where nobody is."""
        return left_out_words(self.left_out) if self.left_out else ""
