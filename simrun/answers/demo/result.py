"""The race days that come along, ready to be put somewhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from simrun.answers.demo.words import next_of, sentence_of
from simrun.answers.kind import Progress, Result
from simrun.base.writing import written_together

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class Demo(Result):
    """The files that come along, and the folder that they go to."""

    files: tuple[Path, ...]
    folder: Path
    units: str

    @property
    def subject(self) -> str:
        """Where they will be."""
        return str(self.folder)

    @property
    def file(self) -> str:
        """Nothing was asked about."""
        return ""

    @property
    def _days(self) -> list[str]:
        return [path.name for path in self.files if path.suffix == ".toml"]

    @property
    def sentence(self) -> str:
        """How many race days are where?"""
        return sentence_of(self._days, self.folder)

    @property
    def text(self) -> str:
        """The sentence, and what to type next."""
        return f"{self.sentence}\n{next_of(self.folder)}"

    @property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """days: the scenarios by their files."""
        import pandas as pd

        return {"days": pd.DataFrame({"file": self._days})}

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """Every file, all of them or none. Raises CannotWrite."""
        where = Path(folder) if folder else self.folder
        with written_together(where) as beside:
            for path in self.files:
                (beside / path.name).write_bytes(path.read_bytes())
        return [where / path.name for path in self.files]
