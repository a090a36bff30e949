"""Who runs, from which box? Teams as written, from the entry list, or made up, in one form."""

from __future__ import annotations

from dataclasses import dataclass, field

from simrun.scenario.tables.schema_teams import PlanTable


@dataclass(frozen=True)
class Person:
    """One named runner; None means drawn with the rest of the field."""

    name: str
    time_s: float | None = None
    opening: float | None = None
    line: str | None = None
    row: int | None = None
    plan: PlanTable | None = None


@dataclass(frozen=True)
class Team:
    """One team, ready to be drawn.

    box: None until it is drawn from the seed. runners: how many run; `people` are the first of
    them. lines: "inside", "middle", "outside" or metres off the inside edge, by name of a turn or
    name@lap. None elsewhere means as the field.
    """

    name: str
    runners: int
    box: int | None = None
    ours: bool = False
    opening: float | None = None
    line: str | None = None
    lines: dict[str, str | float] = field(default_factory=dict)
    pull: float | None = None
    plan: PlanTable | None = None
    start: str | None = None
    front: tuple[str, ...] = ()
    people: tuple[Person, ...] = ()
