"""A scenario's tables as the text of a file, to be read again: what was found can be raced as it stands."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any

BARE = re.compile(r"[A-Za-z0-9_-]+")


def toml_text(document: Mapping[str, Any]) -> str:
    """The text of these tables: plain values first, then a table a key, a [[table]] an entry of a list.

    Values: text, numbers, yes or no, and lists and tables of them, which stand in one line.
    Check: tests/unit/scenario/test_toml_text.py (read again, every shipped scenario is the same).
    """
    plain = {key: value for key, value in document.items() if not _is_table(value)}
    lines = [_pair(key, value) for key, value in plain.items()]
    for key, value in document.items():
        if key not in plain:
            lines += _tables(_key(key), value)
    return "\n".join(lines) + "\n"


def _is_table(value: object) -> bool:
    """Does it stand under a head of its own: a table, or a list of nothing but tables?"""
    if isinstance(value, list | tuple):
        return bool(value) and all(isinstance(entry, Mapping) for entry in value)
    return isinstance(value, Mapping)


def _tables(head: str, value: Any) -> list[str]:
    if isinstance(value, Mapping):
        inner = {key: some for key, some in value.items() if _has_head(some)}
        lines = ["", f"[{head}]", *(_pair(k, v) for k, v in value.items() if k not in inner)]
        return lines + [line for k, v in inner.items() for line in _tables(f"{head}.{_key(k)}", v)]
    return [
        line
        for entry in value
        for line in ("", f"[[{head}]]", *(_pair(key, some) for key, some in entry.items()))
    ]


def _has_head(value: Any) -> bool:
    return _is_table(value) and not isinstance(value, Mapping)


def _pair(key: str, value: Any) -> str:
    return f"{_key(key)} = {_value(value)}"


def _key(key: str) -> str:
    return key if BARE.fullmatch(key) else _text(key)


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(_pair(key, some) for key, some in value.items()) + " }"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    return _text(value) if isinstance(value, str) else repr(value)


def _text(value: str) -> str:
    """JSON's quotes are those of a basic string; the one sign that JSON leaves bare is written out."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
