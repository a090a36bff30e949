"""Which behaviour was meant? By its dotted name, or handed in; and kept at hand by its digest.

A race day says only name and digest. Nothing is imported because a file, a recording or a store says so: a
behaviour comes from who started this process.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Mapping
from pathlib import Path
from types import FunctionType, ModuleType
from typing import Any

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.scenario.changes.changes_behaviour import with_behaviour
from simrun.scenario.scenario import Scenario
from simrun.tactics.own.behaviour import Behaviour
from simrun.tactics.own.hooks import check_team

KEY = "behaviour"
WANTED = "package.module:name, as Python imports it from here"

_AT_HAND: dict[str, Behaviour] = {}


def behaviour_named(words: str) -> Behaviour:
    """The behaviour of a dotted name, "package.module:name": a Behaviour, or a function, which is then the
    wish of everybody. Raises BadInput."""
    module_name, colon, name = words.partition(":")
    if not (colon and name and all(part.isidentifier() for part in module_name.split("."))):
        raise BadInput(Problem(KEY, repr(words[:80]), WANTED))
    module = _imported(module_name)
    if not hasattr(module, name):
        near = nearest_word(name, _behaviours_in(module))
        raise BadInput(Problem(KEY, f"{module_name} has no {name!r}", WANTED, near))
    found = getattr(module, name)
    if callable(found) and not isinstance(found, Behaviour | type):
        found = Behaviour(wish=found)
    if not isinstance(found, Behaviour):
        raise BadInput(
            Problem(KEY, f"{words} is no behaviour", "a simrun.Behaviour, or a function")
        )
    _AT_HAND[found.digest] = found
    return found


def run_by(day: Scenario, behaviour: Behaviour, name: str = "") -> Scenario:
    """The race day whose people go by this behaviour. name: the dotted name by which other processes find it;
    empty: looked for in its module. Raises BadInput. Check: tests/unit/tactics/test_own_behaviour.py.
    """
    if not isinstance(behaviour, Behaviour):
        raise BadInput(Problem(KEY, repr(behaviour)[:60], "a simrun.Behaviour"))
    check_team(behaviour, [team.name for team in day.teams], day.our_team)
    _AT_HAND[behaviour.digest] = behaviour
    return with_behaviour(day, told_of(behaviour, name))


def told_of(behaviour: Behaviour, name: str = "") -> dict[str, str]:
    """What a race day says of it: what it is called, the dotted name where it has one, and its digest."""
    return {
        "word": behaviour.word,
        "found_at": name or _dotted_name(behaviour),
        "digest": behaviour.digest,
    }


def behaviour_of(day: Scenario) -> Behaviour | None:
    """By which behaviour do the people of this race day go? None: by none. Raises BadInput where it is not at
    hand."""
    told = day.behaviour
    if told is None:
        return None
    if told.digest not in _AT_HAND:
        found = f"{told.word} of {told.found_at or 'another process'} is not at hand, or has changed since"
        raise BadInput(Problem(KEY, found, "the same behaviour, given again", "", day.file))
    behaviour = _AT_HAND[told.digest]
    check_team(behaviour, [team.name for team in day.teams], day.our_team)
    return behaviour


def fetch(day: Scenario) -> None:
    """Have the behaviour of a race day at hand, in a worker: whoever started it says where. Raises
    BadInput."""
    told = day.behaviour
    if told is None or told.digest in _AT_HAND:
        return
    if not told.found_at:
        allowed = "a behaviour that stands in a module under a name; or workers=1"
        raise BadInput(Problem(KEY, f"{told.word} cannot be found by another process", allowed))
    behaviour_named(told.found_at)
    behaviour_of(day)


def _imported(name: str) -> ModuleType:
    here = str(Path.cwd())
    added = here not in sys.path and "" not in sys.path
    if added:
        sys.path.insert(0, here)
    try:
        return importlib.import_module(name)
    except BadInput:
        raise
    except Exception as wrong:
        found = f"{name} cannot be imported: {type(wrong).__name__}: {wrong}"
        raise BadInput(Problem(KEY, " ".join(found.split())[:200], WANTED)) from wrong
    finally:
        if added:
            sys.path.remove(here)


def _behaviours_in(module: ModuleType) -> list[str]:
    return [
        name
        for name, value in vars(module).items()
        if isinstance(value, Behaviour | FunctionType) and not name.startswith("_")
    ]


def _dotted_name(behaviour: Behaviour) -> str:
    """Where another process finds it: nowhere, if it was typed in by hand."""
    law: Any = behaviour.wish or behaviour.side
    module = sys.modules.get(law.__module__)
    names: Mapping[str, Any] = vars(module) if module and law.__module__ != "__main__" else {}
    name = next((name for name, value in names.items() if value is behaviour), "")
    return f"{law.__module__}:{name}" if name else ""
