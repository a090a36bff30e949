"""How is a refused table told to the person who wrote it? In our words, one Problem a mistake."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from simrun.base.errors import Problem, nearest_word
from simrun.scenario.tables.values import LONGEST_NAME, RefusedError, shown, shown_key

Loc = tuple[str | int, ...]


def problems_of(
    error: ValidationError, model: type[BaseModel], written: object, key: str = ""
) -> list[Problem]:
    """One Problem for every mistake in a table `written` at `key` and checked by `model`.

    A key that is missing because it was misspelt is one mistake, not two.
    """
    details = error.errors(include_url=False)
    problems = [_problem(detail, model, written, key) for detail in details]
    misspelt = {_join(_parent(p.key), p.nearest) for p in problems if p.found == "unknown key"}
    return [p for p in problems if not (p.found == "missing" and p.key in misspelt)]


def _problem(detail: ErrorDetails, model: type[BaseModel], written: object, key: str) -> Problem:
    loc: Loc = detail["loc"]
    where = key_words(loc, written, key)
    refused = detail.get("ctx", {}).get("error")
    if isinstance(refused, RefusedError):
        return Problem(where, refused.found, refused.allowed, refused.nearest)
    if detail["type"] == "extra_forbidden":
        return _unknown_key(where, loc, model)
    if detail["type"] == "missing":
        return Problem(where, "missing", f"needed: {_description(loc, model)}")
    return Problem(where, shown(detail["input"]), "a table of its own keys is wanted")


def _unknown_key(where: str, loc: Loc, model: type[BaseModel]) -> Problem:
    known = keys_of(_model_at(loc[:-1], model))
    near = nearest_word(str(loc[-1])[:LONGEST_NAME], known)
    return Problem(where, "unknown key", "allowed here: " + ", ".join(known), near)


def keys_of(model: type[BaseModel]) -> list[str]:
    """Which keys may be written in the table that `model` checks?"""
    return [field.alias or name for name, field in model.model_fields.items()]


def _description(loc: Loc, model: type[BaseModel]) -> str:
    for name, field in _model_at(loc[:-1], model).model_fields.items():
        if loc[-1] == (field.alias or name):
            return field.description or "a value"
    return "a value"


def _model_at(loc: Loc, model: type[BaseModel]) -> type[BaseModel]:
    """The class that checks the table at `loc`, found by walking the fields' types."""
    for step in loc:
        for name, field in model.model_fields.items():
            if step == (field.alias or name):
                model = _table_in(field.annotation) or model
    return model


def _table_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    inner = (_table_in(part) for part in get_args(annotation))
    return next((table for table in inner if table), None)


def key_words(loc: Loc, written: object, key: str = "") -> str:
    """The dotted key of a place, an entry of a list named by its name or its number from 1."""
    for step in loc:
        if isinstance(step, int):
            entries = written if isinstance(written, Sequence) else []
            key = _join(key, entry_words(entries, step))
            written = entries[step] if step < len(entries) else None
        else:
            key = _join(key, shown_key(step))
            written = written.get(step) if isinstance(written, Mapping) else None
    return key


def entry_words(entries: Sequence[Any], index: int) -> str:
    """What is the entry of a list called: its name if no other entry bears it, else its number?"""
    names = [entry.get("name") if isinstance(entry, Mapping) else None for entry in entries]
    name = names[index]
    if isinstance(name, str) and name.strip() and names.count(name) == 1:
        return shown_key(name)
    return str(index + 1)


def _join(key: str, step: str) -> str:
    return f"{key}.{step}" if key else step


def _parent(key: str) -> str:
    return key.rpartition(".")[0]
