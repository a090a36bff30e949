"""The race day that was written, or the page of all that may be written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from simrun.answers.kind import OfDay, Progress, Result
from simrun.answers.new.grammar_words import SENTENCE
from simrun.answers.new.words import next_of, sentence_of
from simrun.base.writing import write_text
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.grammar import grammar

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class NewDay(OfDay):
    """A new race day with its files."""

    day: Scenario
    folder: Path
    files: tuple[Path, ...]

    @property
    def units(self) -> str:  # type: ignore[override]
        """As the scenario says."""
        return self.day.units

    @property
    def sentence(self) -> str:
        """What was written."""
        return sentence_of(self.day, self.day.file)

    @property
    def text(self) -> str:
        """The sentence, and what to do next."""
        return f"{self.sentence}\n{next_of(self.day.file)}"

    @property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """teams: who stands in which box."""
        import pandas as pd

        rows = [(team.name, team.box, team.runners, team.ours) for team in self.day.teams]
        return {"teams": pd.DataFrame(rows, columns=["team", "box", "runners", "ours"])}

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """The files stand there already."""
        return list(self.files)


@dataclass(frozen=True)
class Grammar(Result):
    """All that may be written in a scenario. folder: where the page goes, None: nowhere."""

    page: str
    folder: Path | None  # type: ignore[assignment]
    units: str = "metric"

    @property
    def subject(self) -> str:
        """The grammar."""
        return "scenario"

    @property
    def file(self) -> str:
        """It was read from nowhere."""
        return ""

    @property
    def sentence(self) -> str:
        """What the page is."""
        return SENTENCE

    @property
    def text(self) -> str:
        """The page itself."""
        return self.page

    @property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """grammar: a row a key."""
        import pandas as pd

        return {"grammar": pd.DataFrame([vars(row) for row in grammar()])}

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """scenario.md, where a folder was named."""
        where = folder or self.folder
        return [write_text(Path(where) / "scenario.md", self.page)] if where else []
