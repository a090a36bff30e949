"""Tables as CSV files that a spreadsheet opens without running anything in them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from simrun.base.writing import write_text

if TYPE_CHECKING:
    import pandas

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
DIGITS = 6


def plain_cell(value: object) -> object:
    """A text that a spreadsheet would take for a formula gets an apostrophe before it.

    A carriage return becomes a space: it is written unquoted, and what follows would begin a row.
    """
    if not isinstance(value, str):
        return value
    return ("'" if value.startswith(FORMULA_SIGNS) else "") + value.replace("\r", " ")


def write_csv(table: pandas.DataFrame, path: str | Path) -> Path:
    """Write a table with a head row, seconds to the microsecond, empty where there is no number."""
    plain = table.copy()
    for name in plain.columns:
        if not hasattr(plain[name].dtype, "kind") or plain[name].dtype.kind in "OUT":
            plain[name] = plain[name].map(plain_cell)
    return write_text(
        path, plain.to_csv(index=False, float_format=f"%.{DIGITS}f", lineterminator="\n")
    )
