"""What may be written in a scenario? Read off the tables themselves, so that it is never out of date."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pydantic_core import PydanticUndefined

from simrun.scenario.tables.lengths import LENGTH_WORDS, TIME_WORDS, Length, Time, clock_words
from simrun.scenario.tables.schema import (
    ClockTable,
    CourseTable,
    EdgesTable,
    HeadTable,
    LapsTable,
    ListColumns,
    MarkTable,
    PieceTable,
    StartTable,
    Table,
    WidthTable,
    WindTable,
)
from simrun.scenario.tables.schema_places import PlaceTable
from simrun.scenario.tables.schema_races import RaceTable
from simrun.scenario.tables.schema_teams import (
    FieldTable,
    PersonTable,
    PlanTable,
    SharesTable,
    TeamTable,
)
from simrun.scenario.tables.values import RefusedError

TABLES: dict[str, type[Table]] = {
    "": HeadTable,
    "[clock]": ClockTable,
    "[start]": StartTable,
    "columns": ListColumns,
    "[course]": CourseTable,
    "[[course.pieces]]": PieceTable,
    "[course.laps]": LapsTable,
    "[[course.checkpoints]], [[course.landmarks]]": MarkTable,
    "[[course.widths]]": WidthTable,
    "[course.edges]": EdgesTable,
    "[course.wind]": WindTable,
    "[field]": FieldTable,
    "lines": SharesTable,
    "plan": PlanTable,
    "[[races]]": RaceTable,
    "[[teams]]": TeamTable,
    "[[teams.people]]": PersonTable,
    "[[places]]": PlaceTable,
}
"""Every table of a scenario by its head; [inputs] is read by the keys of the figures and stands apart."""

IN_TABLES = {
    ("[course]", key)
    for key in ("wind", "edges", "widths", "laps", "pieces", "checkpoints", "landmarks")
} | {("[[teams]]", "people")}
"""Keys that are tables of their own here; columns, a plan and shares are written on one line."""


ON_A_LINE = {ListColumns: "columns", PlanTable: "plan", SharesTable: "lines"}


class _Nothing:
    """A value that no key allows: what is refused is told with what is allowed."""


@dataclass(frozen=True)
class Row:
    """One key of one table: what may stand there, and what holds where it is left out ("needed", "" for
    nothing)."""

    table: str
    key: str
    allowed: str
    default: str


def grammar() -> tuple[Row, ...]:
    """Every key of every table, in the order of the schema. Check: tests/documents/test_grammar.py."""
    return tuple(row for head, model in TABLES.items() for row in _rows(head, model))


def _rows(head: str, model: type[Table]) -> Iterator[Row]:
    for name, field in model.model_fields.items():
        key = field.alias or name
        if (head, key) in IN_TABLES:
            continue
        allowed = _allowed(field.metadata) or _by_type(field.annotation)
        default = "needed" if field.is_required() else _default(field.default, key, head)
        yield Row(head, key, allowed, default)


def _allowed(metadata: list[Any]) -> str:
    """What the check of a value says when it refuses one."""
    for step in metadata:
        check = getattr(step, "func", None)
        if isinstance(check, Length):
            return f"a length, {check.low_m:g} to {check.high_m:g} m"
        if isinstance(check, Time):
            return f"a time, {clock_words(check.low_s)} to {clock_words(check.high_s)}"
        if check is None:
            continue
        try:
            check(_Nothing())
        except RefusedError as refused:
            return refused.allowed.replace(f": {LENGTH_WORDS}", "").replace(f": {TIME_WORDS}", "")
    return ""


def _by_type(annotation: Any) -> str:
    """What an annotation without a check of its own at this place allows: that of its inner type."""
    for part in getattr(annotation, "__args__", ()):
        found = _allowed(list(getattr(part, "__metadata__", ()))) or _by_type(part)
        if found:
            return found
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return f"a table on one line, see {ON_A_LINE[annotation]}"
    return _allowed(list(getattr(annotation, "__metadata__", ())))


def _default(value: Any, key: str, head: str) -> str:
    if value is None or value is PydanticUndefined or value in ((), "", {}):
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, SharesTable):
        return f"{value.inside:g}, {value.middle:g}, {value.outside:g}"
    if isinstance(value, Table):
        return ""
    if isinstance(value, tuple):
        return " to ".join(f"{end:g}" for end in value)
    unit = _unit_of(head, key)
    return f"{value:g}{unit}" if isinstance(value, int | float) else str(value)


def _unit_of(head: str, key: str) -> str:
    """Lengths are defaults in metres, times in seconds."""
    model = TABLES[head]
    for name, field in model.model_fields.items():
        if key == (field.alias or name):
            return " m" if name.endswith("_m") else " s" if name.endswith("_s") else ""
    return ""
