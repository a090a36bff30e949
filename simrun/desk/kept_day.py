"""A scenario file that is changed step by step: what was changed elsewhere is noticed, every step undone.

The file is the truth: nothing of the race day is kept anywhere else. Each step is the whole text before and
after, so undoing is writing a file.
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Sequence
from pathlib import Path

from simrun.base.errors import BadInput, Problem, SimrunError
from simrun.base.writing import write_text
from simrun.desk.words import CHANGED_ELSEWHERE, NOTHING_TO_REDO, NOTHING_TO_UNDO
from simrun.scenario.in_text.toml_edit import Change, edited
from simrun.scenario.named_files import LARGEST_SCENARIO_BYTES, read_text
from simrun.scenario.reader import parse, read_as
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema_races import keys_of_race, named_races, race_names

MOST_STEPS = 300


class ChangedElsewhere(SimrunError):
    """The file is no longer what the page showed."""

    def __init__(self) -> None:
        super().__init__(CHANGED_ELSEWHERE)


class NoStep(SimrunError):
    """There is nothing to undo, or to do again."""


class KeptDay:
    """One file, its present text, and the texts that it had. Check: tests/unit/desk/test_kept_day.py."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.lock = threading.RLock()
        self.texts = [self._text()]
        self.at = 0
        self.race = ""
        self._read: tuple[object, Scenario] | None = None

    def look(self) -> str:
        """The present text; one that somebody else wrote is a step too, which can be undone."""
        with self.lock:
            text = self._text()
            if text != self.texts[self.at]:
                self._step(text)
            return text

    @property
    def digest(self) -> str:
        """What the present text is known by."""
        return self.named(self.look())

    def named(self, text: str) -> str:
        """What a text is known by, while this race of it is shown."""
        return digest_of(f"{text}\0{self.race}" if self.race else text)

    def races(self) -> list[str]:
        """Which races does the day have? Nothing where it is one race."""
        try:
            return race_names(parse(self.look(), self.path.name))
        except BadInput:
            return []

    def choose(self, race: str) -> None:
        """Show this race of the day. Raises BadInput where there is none of that name."""
        with self.lock:
            if race not in self.races():
                raise BadInput(Problem("race", repr(race)[:80], "a race of this day"))
            self.race, self._read = race, None

    def name_races(self, digest: str, names: Sequence[object]) -> None:
        """The races of the day in order; none: it is one race. Raises as `change`."""
        with self.lock:
            text = self.same(digest)
            told = [name for name in names if isinstance(name, str)]
            self._keep(edited(text, named_races(parse(text, self.path.name), told)))

    @property
    def steps(self) -> tuple[int, int]:
        """How many steps can be undone, how many done again?"""
        return self.at, len(self.texts) - 1 - self.at

    def day(self) -> Scenario:
        """The race day as it stands in the file, read again when it or a list changed. Raises BadInput."""
        with self.lock:
            text = self.look()
            if self._read is None or self._read[0] != (text, self._lists(self._read[1])):
                self._forget_lost_race()
                day = read_as(text, self.path, self.race)
                self._read = ((text, self._lists(day)), day)
            return self._read[1]

    def _forget_lost_race(self) -> None:
        if self.race and self.race not in self.races():
            self.race = ""

    def _lists(self, day: Scenario) -> tuple[tuple[int, int], ...]:
        """When the files that the day names were written, and how long they are."""
        names = (
            day.field.seed_times,
            day.start.box_sheet,
            day.course.drawn,
            day.inputs.learnt_file,
        )
        found = (self.path.with_name(name) for name in names if name)
        return tuple((f.stat().st_mtime_ns, f.stat().st_size) for f in found if f.is_file())

    def change(self, digest: str, changes: Sequence[Change]) -> Scenario:
        """Change these keys where the file is still what the page showed, and can be read afterwards.

        Raises ChangedElsewhere, BadInput, CannotWrite; the file is then as it was.
        """
        with self.lock:
            text = self.same(digest)
            of_race = keys_of_race(parse(text, self.path.name), self.race, changes)
            return self._keep(edited(text, of_race))

    def undo(self, digest: str) -> None:
        """The text before the last step. Raises NoStep, ChangedElsewhere, CannotWrite."""
        self._go(digest, -1, NOTHING_TO_UNDO)

    def redo(self, digest: str) -> None:
        """The text after the step that was undone last. Raises as `undo`."""
        self._go(digest, 1, NOTHING_TO_REDO)

    def _go(self, digest: str, by: int, none: str) -> None:
        with self.lock:
            self.same(digest)
            if not 0 <= self.at + by < len(self.texts):
                raise NoStep(none)
            write_text(self.path, self.texts[self.at + by])
            self.at += by

    def same(self, digest: str) -> str:
        """The present text, where it is still what the page showed. Raises ChangedElsewhere."""
        text = self.look()
        if self.named(text) != digest:
            raise ChangedElsewhere
        return text

    def _keep(self, text: str) -> Scenario:
        """Read as it would stand there, then written beside and moved into place."""
        day = read_as(
            text, self.path, self.race if self.race in race_names(parse(text, "")) else ""
        )
        if text != self.texts[self.at]:
            write_text(self.path, text)
            self._step(text)
        return day

    def _step(self, text: str) -> None:
        self.texts = [*self.texts[: self.at + 1], text][-MOST_STEPS:]
        self.at = len(self.texts) - 1

    def _text(self) -> str:
        return read_text(self.path, LARGEST_SCENARIO_BYTES)


def digest_of(text: str) -> str:
    """A short name for a text."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]
