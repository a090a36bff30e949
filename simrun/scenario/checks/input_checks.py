"""Do the inputs say anything else than the field's own table?"""

from __future__ import annotations

from collections.abc import Iterator

from simrun.base.errors import Problem
from simrun.scenario.tables.schema_inputs import Inputs
from simrun.scenario.tables.schema_teams import FieldTable
from simrun.sources.assumed import INSIDE, PULL

NEAR = 1e-6


def told_twice(field: FieldTable, inputs: Inputs) -> Iterator[Problem]:
    """A share on the inside, or a pull, that is told here and there must be the same."""
    if not field.lines.total > 0:
        # That the shares make no whole is said of themselves.
        return
    low, high = field.pull
    written = {"lines": (INSIDE, field.lines.scaled["inside"]), "pull": (PULL, (low + high) / 2)}
    for word, (key, there) in written.items():
        told = inputs.told.get(key)
        if word in field.model_fields_set and told is not None and abs(told - there) > NEAR:
            found = f"{told:g}, but field.{word} makes it {there:g}"
            yield Problem(f"inputs.{key}", found, "say it in one place, or say the same in both")
