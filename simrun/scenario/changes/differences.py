"""In what do two race days differ? Everything that is told, by words that lead to it."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from typing import Any

from simrun.scenario.scenario import Scenario
from simrun.scenario.teams import Team

ABOUT_ITSELF = ("name", "about", "units")
"""What a scenario says about itself is no difference of plan."""

NOT_TOLD = "as the field"

Words = tuple[str, ...]


def differences(one: Scenario, other: Scenario) -> list[tuple[Words, str, str]]:
    """What is told otherwise: (words that lead to it, value in one, value in the other).

    The people of an entry list and the boxes of a box sheet count as told, so naming somebody who runs anyway
    is no difference. Check: tests/unit/scenario/test_changes_people.py.
    """
    told, there = (dict(_flat(_written_out(day), day.our_team)) for day in (one, other))
    return [
        (key, str(told.get(key, NOT_TOLD)), str(there.get(key, NOT_TOLD)))
        for key in {**told, **there}
        if told.get(key, NOT_TOLD) != there.get(key, NOT_TOLD) and key[-1] not in ABOUT_ITSELF
    ]


def _written_out(scenario: Scenario) -> dict[str, Any]:
    """The tables of a scenario with the boxes and the people of every team as they are known."""
    document = copy.deepcopy(scenario.document)
    written = {table["name"].strip(): table for table in document.pop("teams", [])}
    for key in ("teams", "fill"):
        document.get("field", {}).pop(key, None)
    return document | {
        "teams": [_team_out(team, written.get(team.name, {})) for team in scenario.teams]
    }


def _team_out(team: Team, written: dict[str, Any]) -> dict[str, Any]:
    said = written.get("people", [])
    people = [
        {**(said[i] if i < len(said) else {}), "name": person.name, "time": person.time_s}
        for i, person in enumerate(team.people)
    ]
    return {**written, "name": team.name, "box": team.box, "people": people}


def _flat(part: Any, ours: str | None, key: Words = ()) -> Iterator[tuple[Words, Any]]:
    """Every single value of a scenario's tables with the words that lead to it; ours need no name."""
    if isinstance(part, dict):
        for word, value in part.items():
            if value is not None and not (key and word == "name"):
                yield from _flat(value, ours, (*key, word))
    elif isinstance(part, list) and part and isinstance(part[0], dict):
        for number, value in enumerate(part, 1):
            name = str(value.get("name", f"{key[-1]} {number}"))
            yield from _flat(value, ours, () if name == ours else (name,))
    else:
        yield key, part
