"""The tables of a scenario with some keys changed, and out of a JSON text."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator, Mapping
from typing import Any

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.scenario.day import Day
from simrun.scenario.tables.values import LONGEST_NAME, shown_key

NEW_PARTS = ("clock", "field", "inputs", "course.laps", "course.edges", "field.lines", "field.plan")


def changed_document(
    scenario: Day, changes: Mapping[str, object], name: str | None
) -> dict[str, Any]:
    """The tables as written, with these keys changed; see Scenario.changed. Raises BadInput."""
    document = copy.deepcopy(scenario.document)
    if any(_names_unwritten_team(scenario, document, key) for key in changes):
        _write_down_teams(scenario, document)
    for key, value in changes.items():
        _set(document, key, plain(value), scenario.file)
    if name is not None:
        document["name"] = name
    return document


def plain(value: object) -> Any:
    """The same value made of plain numbers, text, lists and tables (arrays and tuples too)."""
    if isinstance(value, Mapping):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [plain(inner) for inner in value]
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    return value


def _names_unwritten_team(scenario: Day, document: dict[str, Any], key: str) -> bool:
    """Does a key lead to a team that was made up or came out of the entry list?"""
    written = {team["name"].strip() for team in document.get("teams", [])}
    others = (team.name for team in scenario.teams if team.name not in written)
    return any(f"{key}.".startswith(f"teams.{name}.") for name in others)


def _write_down_teams(scenario: Day, document: dict[str, Any]) -> None:
    """List every team that nobody wrote down, so that it can be changed."""
    teams = document.setdefault("teams", [])
    written = {team["name"].strip() for team in teams}
    for team in scenario.teams:
        if team.name not in written:
            box = {} if team.box is None else {"box": team.box}
            teams.append({"name": team.name, **box})
    for key in ("teams", "fill"):
        document.get("field", {}).pop(key, None)


def _set(document: dict[str, Any], key: str, value: object, file: str) -> None:
    """Put a value at a dotted key, or take the key away where the value is None."""
    place, rest = _walk(document, key, file)
    if isinstance(place, list):
        index = _entry(place, rest)
        if index is None:
            raise _lost(key, rest, place, file)
        place[index : index + 1] = [] if value is None else [value]
    elif value is not None:
        place[rest] = value
    elif rest in place:
        del place[rest]
    else:
        raise _lost(key, rest, place, file)


def _walk(document: dict[str, Any], key: str, file: str) -> tuple[Any, str]:
    """The table or list that holds the last part of a dotted key, and that part."""
    place: Any = document
    rest, done = key, ""
    while True:
        step, after = _step(place, rest)
        if not after:
            return place, rest
        inner = _inside(place, step, f"{done}{step}")
        if not isinstance(inner, dict | list):
            raise _lost(key, step or rest, place, file)
        place, rest, done = inner, after, f"{done}{step}."


def _step(place: Any, rest: str) -> tuple[str, str]:
    """The next part of a key: the longest name that leads on, since a name may hold a dot."""
    parts = rest.split(".")
    known = set(_names(place))
    for count in range(len(parts), 0, -1):
        step = ".".join(parts[:count])
        if step in known:
            return step, ".".join(parts[count:])
    return parts[0], ".".join(parts[1:])


def _inside(place: Any, step: str, path: str) -> Any:
    if isinstance(place, list):
        index = _entry(place, step)
        return None if index is None else place[index]
    if step not in place and path in NEW_PARTS:
        place[step] = {}
    return place.get(step)


def _names(place: Any) -> Iterator[str]:
    if isinstance(place, dict):
        yield from place
        return
    for number, entry in enumerate(place, start=1):
        yield str(number)
        if isinstance(entry, dict) and isinstance(entry.get("name"), str):
            yield entry["name"].strip()


def _entry(place: list[Any], step: str) -> int | None:
    """Which entry of a list bears this name, or else this number from 1?"""
    for index, entry in enumerate(place):
        if isinstance(entry, dict) and str(entry.get("name", "")).strip() == step:
            return index
    if step.isascii() and step.isdigit() and 0 < int(step[:6]) <= len(place):
        return int(step[:6]) - 1
    return None


def _lost(key: str, step: str, place: Any, file: str) -> BadInput:
    names = [name for name in _names(place) if not name.isdigit()]
    allowed = "there are: " + (", ".join(names[:30]) or "none")
    near = nearest_word(step[:LONGEST_NAME], names)
    return BadInput(Problem(shown_key(key), f"leads nowhere at {step!r}", allowed, near, file))


def parts_of_json(text: str) -> tuple[dict[str, Any], dict[str, str], str]:
    """Document, attachments and file out of the text that Day.to_json wrote. Raises BadInput."""
    try:
        whole = json.loads(text)
    except (ValueError, RecursionError):
        whole = None
    if not _is_whole(whole):
        allowed = "a text that a scenario was written to"
        raise BadInput(Problem("scenario", "not a scenario's JSON", allowed))
    return whole["document"], whole["attachments"], str(whole["file"])


def _is_whole(whole: Any) -> bool:
    if not isinstance(whole, dict) or not {"document", "attachments", "file"} <= whole.keys():
        return False
    attachments = whole["attachments"]
    return (
        isinstance(whole["document"], dict)
        and isinstance(whole["file"], str)
        and isinstance(attachments, dict)
        and all(isinstance(text, str) for text in attachments.values())
    )
