"""An answer made of many races: whoever is left out of its means is named."""

from __future__ import annotations

from simrun.answers.kind import OfDay
from simrun.measure.left_out import LeftOut
from simrun.pages.left_out_words import left_out_words


class OfRaces(OfDay):
    """The answer of many races of one day. left_out: who did not reach the last mark, over all of them."""

    left_out: LeftOut | None

    @property
    def missing(self) -> str:
        """How many are left out of the means, and why; empty where nobody is."""
        return left_out_words(self.left_out) if self.left_out else ""
