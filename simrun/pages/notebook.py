"""An answer as a notebook shows it: its sentence and a short table."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas

MOST_ROWS = 12


def notebook_of(sentence: str, table: pandas.DataFrame) -> str:
    """Markup of the sentence and the first and last rows; names are text and nothing else.

    Check: tests/unit/answers/test_in_python.py.
    """
    rows = table.to_html(max_rows=MOST_ROWS, index=False, escape=True, border=0)
    return f"<p><strong>{escape(sentence)}</strong></p>{rows}"
