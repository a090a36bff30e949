"""What is the race day on paper, and what becomes of it? Read, checked, frozen; changed by a copy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from simrun.runners.roster import Roster
from simrun.scenario.assemble import assemble
from simrun.scenario.change import changed_document, parts_of_json
from simrun.scenario.day import Day
from simrun.scenario.paper import BEHAVIOUR
from simrun.scenario.people import roster_of
from simrun.scenario.tables.toml_text import toml_text


@dataclass(frozen=True)
class Scenario(Day):
    """Everything on paper, checked: what was written, and the same made ready.

    Two scenarios are equal when what was written is equal. Made by `read`, `from_json` and `changed` only.
    """

    def __repr__(self) -> str:
        """Which race day, how many runners, how long."""
        length = f"{self.strip.length_m:.0f} m"
        return (
            f"<Scenario {self.name!r}: {self.runners} runners of {len(self.teams)} teams, {length}>"
        )

    def roster(self, seed: int) -> Roster:
        """Who stands on the line with this seed? The same seed meets the same people."""
        return roster_of(self, seed)

    def changed(self, changes: Mapping[str, object], name: str | None = None) -> Scenario:
        """The same race day with some keys changed, checked anew.

        changes: dotted keys, an entry of a list by its name or its number from 1, such as
        {"start.width": "80 m", "teams.Alderbrook.box": 5, "course.pieces.hay meadow.length": 90};
        None takes a key away. Raises BadInput as `read` does, and for a key that leads nowhere.
        """
        document = changed_document(self, changes, name)
        return self.assembled(document, dict(self.attachments), self.file)

    def with_files(self, texts: Mapping[str, str | None]) -> Scenario:
        """The same race day with these files at hand as well, by name; None takes one away.

        None is used until a key names it.
        """
        files = {**self.attachments, **texts}
        return replace(self, attachments={name: text for name, text in files.items() if text})

    def to_toml(self) -> str:
        """The text of a scenario file that says the same, but for a behaviour of one's own, which no file
        holds.

        The lists that it names are `attachments`.
        """
        return toml_text({key: said for key, said in self.document.items() if key != BEHAVIOUR})

    @staticmethod
    def from_json(text: str) -> Scenario:
        """The scenario that `to_json` wrote. Raises BadInput where the text is none."""
        return Scenario.assembled(*parts_of_json(text))

    @staticmethod
    def assembled(document: dict[str, Any], attachments: dict[str, str], file: str) -> Scenario:
        """The scenario of these tables and the texts of the files they name. Raises BadInput."""
        day = assemble(document, attachments, file)
        return Scenario(**{column.name: getattr(day, column.name) for column in fields(day)})
