"""Named changes of what is told of the unknown inputs: copies of a race day, checked anew."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from simrun.runners.line_choice import pull_about, with_inside_share
from simrun.scenario.scenario import Scenario
from simrun.sources.assumed import INSIDE, PULL


def with_inputs_drawn(scenario: Scenario) -> Scenario:
    """The race day with every input that is not told drawn with the seed, within its range.

    Check: tests/unit/scenario/test_inputs.py.
    """
    return scenario if scenario.inputs.drawn else _with(scenario, {}, drawn=True)


def with_inputs_as(scenario: Scenario, drawn: bool) -> Scenario:
    """The race day of a study: drawn, or with nothing drawn."""
    return with_inputs_drawn(scenario) if drawn else with_inputs_fixed(scenario)


def with_inputs_fixed(scenario: Scenario) -> Scenario:
    """The race day with nothing drawn: inputs are as told, or have the values of the figures."""
    return _with(scenario, {}, drawn=False) if scenario.inputs.drawn else scenario


def with_inputs(scenario: Scenario, told: Mapping[str, float]) -> Scenario:
    """The race day with these inputs told; what was told before, narrowed or drawn stays so.

    The field's own table is made to say the same. Raises BadInput.
    """
    return _with(scenario, told, scenario.inputs.drawn)


def with_learnt(scenario: Scenario, file: str, text: str) -> Scenario:
    """The race day with what was learnt, the text of a file of this name; what was learnt before is gone.

    Raises BadInput. Check: tests/unit/scenario/test_learnt_inputs.py.
    """
    table = told_in(scenario, {}, scenario.inputs.drawn) | {"learnt": file}
    return scenario.with_files({file: text}).changed({"inputs": table})


def without_learnt(scenario: Scenario) -> Scenario:
    """The race day with its ranges as declared or written, whatever was learnt."""
    file = scenario.inputs.learnt_file
    if not file:
        return scenario
    table = told_in(scenario, {}, scenario.inputs.drawn)
    del table["learnt"]
    return scenario.changed({"inputs": table}).with_files({file: None})


def told_in(scenario: Scenario, told: Mapping[str, float], drawn: bool) -> dict[str, Any]:
    """The table [inputs] of a race day with these told as well, fit to be written."""
    inputs = scenario.inputs
    ranges = {key: list(ends) for key, ends in inputs.ranges.items() if key not in told}
    table: dict[str, Any] = {"drawn": True} if drawn else {}
    table |= {"learnt": inputs.learnt_file} if inputs.learnt_file else {}
    return table | ({"ranges": ranges} if ranges else {}) | {**inputs.told, **told}


def _with(scenario: Scenario, told: Mapping[str, float], drawn: bool) -> Scenario:
    field = scenario.field
    changes: dict[str, Any] = {"inputs": told_in(scenario, told, drawn)}
    if INSIDE in told and "lines" in field.model_fields_set:
        changes["field.lines"] = with_inside_share(field.lines.scaled, told[INSIDE])
    if PULL in told and "pull" in field.model_fields_set:
        changes["field.pull"] = pull_about(*field.pull, told[PULL])
    return scenario.changed(changes)
