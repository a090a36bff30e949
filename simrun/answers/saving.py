"""The files that most answers leave: a CSV a table, one picture, one page."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from simrun.base.csv import write_csv
from simrun.base.writing import write_bytes
from simrun.pages.frame import write_page
from simrun.pages.page import Figure, Page

if TYPE_CHECKING:
    import pandas


def save_answer(
    where: Path, name: str, tables: Mapping[str, pandas.DataFrame], figure: Figure, page: Page
) -> list[Path]:
    """Write every table by its own name, and picture and page by this one; gives the files in that order.

    Raises CannotWrite. Check: tests/journeys/test_chase.py.
    """
    return [
        *(write_csv(table, where / f"{each}.csv") for each, table in tables.items()),
        write_bytes(where / f"{name}.png", figure.png),
        write_page(page, where / f"{name}.html"),
    ]
