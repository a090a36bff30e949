"""A scenario file that is changed step by step: what was changed elsewhere is noticed, every step undone.

The file is the truth: nothing of the race day is kept anywhere else. Each step is the whole text before and
after, so undoing is writing a file.
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Sequence
from pathlib import Path

from simrun.base.errors import SimrunError
from simrun.base.writing import write_text
from simrun.desk.words import CHANGED_ELSEWHERE, NOTHING_TO_REDO, NOTHING_TO_UNDO
from simrun.scenario.changes.toml_edit import Change, edited
from simrun.scenario.named_files import LARGEST_SCENARIO_BYTES, read_text
from simrun.scenario.reader import read_as
from simrun.scenario.scenario import Scenario

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
        return digest_of(self.look())

    @property
    def steps(self) -> tuple[int, int]:
        """How many steps can be undone, how many done again?"""
        return self.at, len(self.texts) - 1 - self.at

    def day(self) -> Scenario:
        """The race day as it stands in the file, read again when it or a list changed. Raises BadInput."""
        with self.lock:
            text = self.look()
            if self._read is None or self._read[0] != (text, self._lists(self._read[1])):
                day = read_as(text, self.path)
                self._read = ((text, self._lists(day)), day)
            return self._read[1]

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
            return self._keep(edited(text, changes))

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
        if digest_of(text) != digest:
            raise ChangedElsewhere
        return text

    def _keep(self, text: str) -> Scenario:
        """Read as it would stand there, then written beside and moved into place."""
        day = read_as(text, self.path)
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
