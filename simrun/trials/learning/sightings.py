"""What did people see at a race? One sighting a kind and place, with the numbers as they were written."""

from __future__ import annotations

from dataclasses import dataclass

SPLITS, SECTION, STARTS = "splits", "section", "starts"
RATE, ABREAST, GAP, THIRDS = "a minute", "abreast", "gap", "thirds"

KINDS = (SPLITS, SECTION, STARTS, RATE, ABREAST, GAP, THIRDS)

FEWEST = {SPLITS: 10, SECTION: 10, STARTS: 10, RATE: 1, ABREAST: 1, GAP: 5, THIRDS: 3}
"""So many numbers make a sighting; thirds are three counts."""

MOST = {SPLITS: 1000, SECTION: 1000, STARTS: 20000, RATE: 20, ABREAST: 20, GAP: 500, THIRDS: 3}


@dataclass(frozen=True)
class Sighting:
    """kind: one of KINDS. place: the mark it was seen at; of a section the two marks, in order.

    values: splits, section, starts, gap: seconds, one a runner (or pair); a minute: runners a minute while
    the middle half of the field passes; abreast: the most who cross within a quarter of a second; thirds:
    how many pass the corner's apex in the inside, middle and outside third of its width. listed: splits and
    sections come off a list of so many, the first to finish; 0: of everybody.
    """

    kind: str
    place: tuple[str, ...]
    values: tuple[float, ...]
    listed: int = 0

    @property
    def name(self) -> str:
        """What is this sighting called among others?"""
        return f"{self.kind} at {' to '.join(self.place)}"

    @property
    def count(self) -> int:
        """How many runners, pairs or tries is it made of?"""
        return round(sum(self.values)) if self.kind == THIRDS else len(self.values)
