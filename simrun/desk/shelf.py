"""The folder that the desk works on: plain names of plain files in it, and nothing above it."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from simrun.base.errors import SimrunError
from simrun.desk.words import NAME_TAKEN, NO_SUCH_DAY, NOT_A_NAME
from simrun.scenario.named_files import LARGEST_SCENARIO_BYTES, read_text

NAME = re.compile(r"[^\W_][\w -]{0,80}\.toml")
ANSWER = re.compile(r"[^\W_][\w-]{0,80}\.(html|pdf|png|csv|toml)")
MOST_LISTED = 500
OUTPUTS = "outputs"


class NotHere(SimrunError):
    """No such file in the folder, or no name that a file of ours may have."""


class Shelf:
    """Files of one folder by plain names."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()

    def path(self, name: object) -> Path:
        """The scenario of this name. Raises NotHere for anything that is no plain file of the folder."""
        place = self._place(name)
        if not place.is_file():
            raise NotHere(NO_SUCH_DAY)
        return place

    def free(self, name: object) -> Path:
        """Where a new scenario of this name may stand. Raises NotHere where there is one already."""
        place = self._place(name)
        if place.exists() or place.is_symlink():
            raise NotHere(NAME_TAKEN)
        return place

    def _place(self, name: object) -> Path:
        if not isinstance(name, str) or not NAME.fullmatch(name):
            raise NotHere(NOT_A_NAME)
        place = self.folder / name
        if place.resolve().parent != self.folder:
            raise NotHere(NO_SUCH_DAY)
        return place

    def refuse_taken(self, name: str) -> None:
        """Nothing takes another file's place. Raises NotHere."""
        if (self.folder / name).exists():
            raise NotHere(NAME_TAKEN)

    def list_name(self, stem: str, kind: str, text: str) -> str:
        """A name for a list beside the scenario that takes no other file's place."""
        for number in range(1, 1000):
            name = f"{stem}_{kind}.csv" if number == 1 else f"{stem}_{kind}_{number}.csv"
            place = self.folder / name
            if not place.exists():
                return name
            if place.is_file() and place.read_bytes() == text.encode():
                return name
        raise NotHere(NAME_TAKEN)

    def days(self) -> list[dict[str, Any]]:
        """The scenarios of the folder: name of the file, and what it calls itself."""
        names = sorted(p.name for p in self.folder.glob("*.toml") if NAME.fullmatch(p.name))
        return [{"file": name, "name": self._title(name)} for name in names[:MOST_LISTED]]

    def _title(self, name: str) -> str:
        try:
            told = tomllib.loads(read_text(self.path(name), LARGEST_SCENARIO_BYTES)).get("name")
        except (SimrunError, ValueError, RecursionError):
            return name
        return told if isinstance(told, str) else name

    def outputs(self, name: str) -> Path:
        """Where the answers about a scenario are written."""
        return self.folder / OUTPUTS / Path(name).stem

    def answer(self, stem: str, name: str) -> Path:
        """A file of an answer. Raises NotHere for anything else."""
        if not NAME.fullmatch(f"{stem}.toml") or not ANSWER.fullmatch(name):
            raise NotHere(NO_SUCH_DAY)
        place = self.folder / OUTPUTS / stem / name
        here = (self.folder / OUTPUTS / stem).resolve()
        if not place.is_file() or place.resolve().parent != here or not self._below(here):
            raise NotHere(NO_SUCH_DAY)
        return place

    def _below(self, place: Path) -> bool:
        return place.is_relative_to(self.folder)
