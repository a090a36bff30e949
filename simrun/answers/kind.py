"""What is a kind of answer? A question with a name, what may be asked of it, and a result that tells itself.

A kind is one folder here with a `KIND` in its `__init__`; the door finds it there. See DEVELOPERS.md.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from textwrap import shorten
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

from simrun.base.errors import BadInput, Problem

if TYPE_CHECKING:
    import pandas

    from simrun.pages.page import Figure
    from simrun.pictures.charts.chart import Axes
    from simrun.scenario.scenario import Scenario

Progress = Callable[[float], None]
"""Is told the share of the work that is done, from 0 to 1."""


@dataclass(frozen=True)
class Option:
    """One thing that may be asked: `--name` on the command line, or a plain word such as the file.

    read: makes a value of a text, raising ValueError in one line for a wrong one. switch: takes no value.
    many: may be given more than once, and is a list. group: only one option of a group may be given.
    is_day: it names a race day, so that one race of it may be asked for.
    """

    name: str
    help: str
    read: Callable[[str], Any] = str
    default: Any = None
    shown: str = ""
    choices: tuple[str, ...] = ()
    switch: bool = False
    many: bool = False
    required: bool = False
    group: str = ""
    is_day: bool = False

    @property
    def is_plain(self) -> bool:
        """Is it a plain word, without dashes?"""
        return not self.name.startswith("-")

    @property
    def key(self) -> str:
        """Under which name does the asked value stand?"""
        return self.name.removeprefix("--").replace("-", "_")


@dataclass(frozen=True)
class Ask:
    """A question put to somebody before the answer is worked out: what is blank takes the default.

    key: of the option that settles it on the command line too. read: as of an Option.
    """

    key: str
    question: str
    default: str
    read: Callable[[str], Any] = str


class Asked(SimpleNamespace):
    """What was asked: a value by the key of every option of the kind, and of the common ones."""

    def __getattr__(self, name: str) -> Any:
        raise AttributeError(f"nothing called {name!r} may be asked")


class Result(ABC):
    """What a kind found out. The command line, `--json` and Python tell it from here.

    folder: where its files go unless another is named. units: what the page speaks.
    """

    folder: Path
    units: str
    engine = ""
    """Which engine ran the races of a study, cpu or gpu; empty for what is no study."""

    def __init_subclass__(cls, **options: Any) -> None:
        """A dataclass would show every race of a study: what it found is shown instead."""
        super().__init_subclass__(**options)
        cls.__repr__ = Result.__repr__  # type: ignore[method-assign]

    def __repr__(self) -> str:
        """The kind and its sentence, shortened."""
        return f"<{type(self).__name__}: {shorten(self.sentence, 120, placeholder=' ...')}>"

    def _repr_html_(self) -> str:
        """The sentence and the table that matters most, as a notebook shows them."""
        from simrun.pages.notebook import notebook_of

        return notebook_of(self.sentence, self.table)

    def picture(self) -> Figure | None:
        """The picture that the page shows first; None where an answer has none."""
        return None

    def plot(self, axes: Axes | None = None) -> Axes:
        """That picture, drawn into these axes, or into new ones; gives the axes.

        Raises BadInput where there is none. Check: tests/unit/answers/test_in_python.py.
        """
        from simrun.pictures.charts.chart import picture_in

        found = self.picture()
        if found is None:
            raise BadInput(Problem("plot", type(self).__name__, "an answer with a picture"))
        return picture_in(found.png, axes)

    @property
    @abstractmethod
    def subject(self) -> str:
        """What the answer is about, such as the scenario's name."""

    @property
    @abstractmethod
    def file(self) -> str:
        """Where that was read from; empty where nothing was."""

    @property
    @abstractmethod
    def sentence(self) -> str:
        """The answer in one sentence."""

    @property
    @abstractmethod
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """Every table by name, the one that matters most first. Plain SI numbers."""

    @property
    def table(self) -> pandas.DataFrame:
        """The table that matters most."""
        return next(iter(self.tables.values()))

    @property
    def figures(self) -> Mapping[str, Any]:
        """Single numbers and words that stand in no table, by name; fit for JSON."""
        return {}

    @property
    def text(self) -> str:
        """What a terminal shows: the sentence first. By default nothing else."""
        return self.sentence

    @property
    def missing(self) -> str:
        """Who is left out of the means, and why: one line, empty where nobody is."""
        return ""

    @property
    def notes(self) -> Sequence[str]:
        """What is to be said about the files that were written."""
        return ()

    @abstractmethod
    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """Write everything there is to keep, into their own folder unless told; gives the files.

        Raises CannotWrite.
        """

    def stay(self) -> None:  # noqa: B027
        """What goes on once all is said and written, until it is stopped. By default nothing."""


class OfDay(Result):
    """The answer about one race day."""

    day: Scenario

    @property
    def subject(self) -> str:
        """The name of the race day."""
        return self.day.name

    @property
    def file(self) -> str:
        """The scenario's file."""
        return self.day.file


@dataclass(frozen=True)
class Kind:
    """A kind of answer. question: in one line, for the list of commands; about: what it does and writes.

    place: where it stands in that list. answer: carries it out; is told what was asked, and how to show
    progress. needs_engine: does it run races? asks: what is asked next, told what is known so far; None:
    nothing
    more.
    """

    name: str
    question: str
    about: str
    options: tuple[Option, ...]
    answer: Callable[[Asked, Progress], Sequence[Result]]
    place: int = 100
    needs_engine: bool = True
    asks: Callable[[Asked], Ask | None] | None = None

    @property
    def races_days(self) -> bool:
        """Does it race the race days of scenario files?"""
        return self.needs_engine and any(option.key in ("file", "files") for option in self.options)
