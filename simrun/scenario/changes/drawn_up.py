"""A course drawn up in code, piece by piece: the same words, the same checks, the same file as by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from pydantic import ValidationError

from simrun.base.errors import BadInput
from simrun.scenario.change import plain
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema import LapsTable, MarkTable, PieceTable, Table
from simrun.scenario.tables.toml_text import toml_text
from simrun.scenario.tables.wording import problems_of

Metres = float | str
"""A length in metres, or a text such as "150 yd"."""

Tables = Sequence[Mapping[str, Any]]


@dataclass(frozen=True)
class Course:
    """Which ground is run, in order from the line? Every call gives a longer course and leaves this one as it
    is.

    Keys beyond those named here are those of a file (`shared/schema/scenario.md`): `width`, `surface`,
    `climb`, `left`, `right`. A value that may not stand there is refused at once, as it is in a file; whether
    the pieces agree is known once there is a line before them, see `day`. Raises BadInput. Check:
    tests/unit/scenario/test_drawn_up.py (as the shipped file, piece by piece).
    """

    pieces: tuple[Mapping[str, Any], ...] = ()
    checkpoints: tuple[Mapping[str, Any], ...] = ()
    landmarks: tuple[Mapping[str, Any], ...] = ()
    run_again: Mapping[str, Any] | None = None
    weather: Mapping[str, Any] = field(default_factory=dict)

    def __repr__(self) -> str:
        """How many pieces and marks."""
        marks = len(self.checkpoints) + len(self.landmarks)
        return f"<Course of {len(self.pieces)} pieces, {marks} marks>"

    def straight(self, length: Metres, **more: Any) -> Course:
        """Straight on for so long."""
        return self._with("straight", length=length, **more)

    def narrowing(self, length: Metres, width: Metres, **more: Any) -> Course:
        """In to this width, evenly over this length, from both sides or from one `side`."""
        return self._with("narrowing", length=length, width=width, **more)

    def turn(self, side: str, angle: float, inside_radius: Metres, **more: Any) -> Course:
        """Round to the "left" or "right" by so many degrees; inside_radius: of the inside edge."""
        return self._with("turn", side=side, angle=angle, inside_radius=inside_radius, **more)

    def gap(self, length: Metres, width: Metres, **more: Any) -> Course:
        """Through a gate or a gap in a wall, so long and so wide."""
        return self._with("gap", length=length, width=width, **more)

    def trail(self, length: Metres, width: Metres, **more: Any) -> Course:
        """Along a path so long and so wide."""
        return self._with("trail", length=length, width=width, **more)

    def again(self, first: str, last: str) -> Course:
        """The pieces of these names, and all between them, once more on the same ground."""
        return self._with("again", **{"from": first, "to": last})

    def laps(self, first: str, last: str, times: int) -> Course:
        """The pieces from one name to the other are run so many times."""
        return replace(
            self, run_again=_checked(LapsTable, {"from": first, "to": last, "times": times}, "laps")
        )

    def checkpoint(self, name: str, at: Metres, every_lap: bool = False) -> Course:
        """Times are taken here, so far along the measured line."""
        return replace(self, checkpoints=(*self.checkpoints, _mark(name, at, every_lap)))

    def landmark(self, name: str, at: Metres, every_lap: bool = False) -> Course:
        """Something that runners can see, so far along the measured line."""
        return replace(self, landmarks=(*self.landmarks, _mark(name, at, every_lap)))

    def on_a_day(self, **how: Any) -> Course:
        """With this `footing` and this `wind`."""
        return replace(self, weather={**self.weather, **how})

    @property
    def table(self) -> dict[str, Any]:
        """The table [course] as a file has it."""
        parts: dict[str, Any] = dict(self.weather)
        parts |= {"laps": dict(self.run_again)} if self.run_again else {}
        for key in ("pieces", "checkpoints", "landmarks"):
            rows = [dict(row) for row in getattr(self, key)]
            parts |= {key: rows} if rows else {}
        return parts

    def day(
        self,
        name: str,
        start: Mapping[str, Any],
        teams: Tables = (),
        *,
        files: Mapping[str, str] | None = None,
        **tables: Any,
    ) -> Scenario:
        """The race day on this course, checked as a file is.

        start: the table [start], such as {"width": "60 m", "boxes": 20, "box_width": "3 m", "front_row": 3}.
        teams: a table each; none are drawn up as under `field`. tables: what else a file says, such as
        `units`, `field`, `clock`. files: the texts of the lists that are named, by name. Raises BadInput.
        """
        document = {"name": name, **tables, "start": start, "course": self.table}
        document |= {"teams": list(teams)} if teams else {}
        return Scenario.assembled(plain(document), dict(files or {}), "")

    def to_toml(self) -> str:
        """The same as it stands in a file."""
        return toml_text({"course": self.table})

    def _with(self, kind: str, **keys: Any) -> Course:
        piece = _checked(PieceTable, {"piece": kind, **keys}, f"pieces.{len(self.pieces) + 1}")
        return replace(self, pieces=(*self.pieces, piece))


def _mark(name: str, at: Metres, every_lap: bool) -> dict[str, Any]:
    written = {"name": name, "at": at, **({"every_lap": True} if every_lap else {})}
    return _checked(MarkTable, written, f"mark {name!r}"[:40])


def _checked(model: type[Table], written: Mapping[str, Any], key: str) -> dict[str, Any]:
    """The same, once it may stand in a file. Raises BadInput."""
    said: dict[str, Any] = plain({k: v for k, v in written.items() if v is not None})
    try:
        model.model_validate(said)
    except ValidationError as wrong:
        raise BadInput(problems_of(wrong, model, said, key)) from None
    return said
