"""How are tables written so that they are read again as they were, in TOML?

Source: TOML 1.0.0 (toml.io), from memory. Check: tests/unit/base/test_written_tables.py.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any


def value_text(value: Any) -> str:
    """A number, a text, a truth value, or a list or a table of them, on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {value_text(each)}" for key, each in value.items()) + " }"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(map(value_text, value)) + "]"
    # A quoted text of TOML is one of JSON, but for the sign of deletion, which TOML wants escaped.
    return json.dumps(str(value), ensure_ascii=False).replace("\x7f", "\\u007f")


def table_text(
    head: str, values: Mapping[str, Any], remarks: Mapping[str, str] | None = None
) -> str:
    """A table with its head, such as "[start]" ("" for what stands above all tables), and a remark behind
    a key."""
    lines = [head] if head else []
    for key, value in values.items():
        remark = (remarks or {}).get(key, "")
        lines.append(f"{key} = {value_text(value)}" + (f"  # {remark}" if remark else ""))
    return "\n".join(lines) + "\n"
