"""A scenario's tables as the text of a file, to be read again: what was found can be raced as it stands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from simrun.base.written_tables import key_text, pair_text


def toml_text(document: Mapping[str, Any]) -> str:
    """The text of these tables: plain values first, then a table a key, a [[table]] an entry of a list.

    Values: text, numbers, yes or no, and lists and tables of them, which stand in one line.
    Check: tests/unit/scenario/test_toml_text.py (read again, every shipped scenario is the same).
    """
    plain = {key: value for key, value in document.items() if not _is_table(value)}
    lines = [pair_text(key, value) for key, value in plain.items()]
    for key, value in document.items():
        if key not in plain:
            lines += _tables(key_text(key), value)
    return "\n".join(lines) + "\n"


def _is_table(value: object) -> bool:
    """Does it stand under a head of its own: a table, or a list of nothing but tables?"""
    if isinstance(value, list | tuple):
        return bool(value) and all(isinstance(entry, Mapping) for entry in value)
    return isinstance(value, Mapping)


def _tables(head: str, value: Any) -> list[str]:
    if isinstance(value, Mapping):
        inner = {key: some for key, some in value.items() if _has_head(some)}
        lines = ["", f"[{head}]", *(pair_text(k, v) for k, v in value.items() if k not in inner)]
        return lines + [
            line for k, v in inner.items() for line in _tables(f"{head}.{key_text(k)}", v)
        ]
    return [
        line
        for entry in value
        for line in ("", f"[[{head}]]", *(pair_text(key, some) for key, some in entry.items()))
    ]


def _has_head(value: Any) -> bool:
    return _is_table(value) and not isinstance(value, Mapping)
