"""How are values written so that they are read again as they were, in TOML?

Source: TOML 1.0.0 (toml.io), from memory. Check: tests/unit/base/test_written_tables.py.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

BARE = re.compile(r"[A-Za-z0-9_-]+")


def rounded(number: float) -> str:
    """A number as a person writes it: ten digits tell every length and time of a race."""
    return f"{number:.10g}"


def value_text(value: Any, number: Callable[[float], str] = repr) -> str:
    """A number, a text, a truth value, or a list or a table of them, on one line.

    number: how a number with a fraction is written; by default to its last bit.
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return number(value)
    if isinstance(value, Mapping):
        return "{ " + ", ".join(pair_text(key, some, number) for key, some in value.items()) + " }"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(value_text(some, number) for some in value) + "]"
    return _quoted(str(value))


def pair_text(key: str, value: Any, number: Callable[[float], str] = repr) -> str:
    """A key and its value, on one line."""
    return f"{key_text(key)} = {value_text(value, number)}"


def key_text(key: str) -> str:
    """A key as it may stand: bare where it can."""
    return key if BARE.fullmatch(key) else _quoted(key)


def _quoted(text: str) -> str:
    """A quoted text of TOML is one of JSON, but for the sign of deletion, which TOML wants escaped."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def table_text(
    head: str, values: Mapping[str, Any], remarks: Mapping[str, str] | None = None
) -> str:
    """A table with its head, such as "[start]" ("" for what stands above all tables), and a remark behind
    a key."""
    lines = [head] if head else []
    for key, value in values.items():
        remark = (remarks or {}).get(key, "")
        lines.append(pair_text(key, value, rounded) + (f"  # {remark}" if remark else ""))
    return "\n".join(lines) + "\n"
