"""Every error raised on purpose.

    SimrunError
    |-- BadInput         what somebody wrote or drew cannot be raced; carries one Problem a mistake
    |-- BadRecording     a file that is not a recording of ours, or of another version
    |-- CannotWrite      the folder or the disk refuses
    `-- CannotSimulate   the race cannot be carried out honestly (crowd too dense to place, for example)

The door prints the text of any of them and leaves with exit code 2. Nothing else is caught.

What is no error, but should be known, is a Notice: told on one line, and the work goes on.
"""

from __future__ import annotations

import difflib
import warnings
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace


class SimrunError(Exception):
    """Whatever is raised on purpose."""


@dataclass(frozen=True)
class Problem:
    """One mistake in one place: which file, which key, what was found, what is allowed."""

    key: str
    found: str
    allowed: str
    nearest: str = ""
    file: str = ""

    def __str__(self) -> str:
        where = f"{self.file}: " if self.file else ""
        hint = f"; did you mean {self.nearest!r}?" if self.nearest else ""
        return f"{where}{self.key}: {self.found}; {self.allowed}{hint}"


class BadInput(SimrunError):
    """What somebody wrote or drew cannot be raced. `problems` holds one entry a mistake."""

    def __init__(self, problems: Problem | Sequence[Problem]) -> None:
        self.problems = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def in_file(self, file: str) -> BadInput:
        """The same error, naming the file where a problem does not name one yet."""
        return BadInput([p if p.file else replace(p, file=file) for p in self.problems])


class BadRecording(SimrunError):
    """A file that is not a recording of ours, or one of a version we do not read."""


class CannotWrite(SimrunError):
    """The folder or the disk refuses."""


class CannotSimulate(SimrunError):
    """The race cannot be carried out honestly."""


class Notice(UserWarning):
    """What should be known, and stops nothing: one line, a complete sentence."""


def notice(text: str) -> None:
    """Tell something on one line, once. Workers keep quiet: whoever started them meets the same."""
    from multiprocessing import parent_process  # costs time that `--help` has no use for

    if parent_process() is None:
        warnings.warn(text, Notice, stacklevel=3)


def nearest_word(word: str, words: Iterable[str]) -> str:
    """Which of `words` was probably meant by `word`? Empty when none is near."""
    found = difflib.get_close_matches(word, list(words), n=1, cutoff=0.6)
    return found[0] if found else ""
