"""CSV files: what is written comes back, and no spreadsheet runs a cell of them."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from simrun.base.csv import plain_cell, write_csv
from simrun.pages.text import table_text


def cells(path: Path) -> list[list[str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t"])
def test_a_formula_becomes_text(sign: str, tmp_path: Path) -> None:
    """A name that begins like a formula gets an apostrophe, wherever names stand."""
    evil = f"{sign}cmd|' /C calc'!A0"
    assert plain_cell(evil) == "'" + evil
    frame = pd.DataFrame({"runner": [evil, "Ada"], "team": [evil, evil], "lost_s": [1.0, 2.0]})
    rows = cells(write_csv(frame, tmp_path / "t.csv"))
    assert rows[1] == ["'" + evil, "'" + evil, "1.000000"]
    assert rows[2][0] == "Ada"
    assert frame["runner"][0] == evil, "the table itself is left alone"


@pytest.mark.parametrize("name", ["\r=1+1", "Ada\r=1+1", "Ada\r\n=1+1"])
def test_a_carriage_return_begins_no_row(name: str, tmp_path: Path) -> None:
    """It would stand unquoted and begin a row of its own, with a formula in front."""
    path = write_csv(pd.DataFrame({"runner": [name], "lost_s": [1.0]}), tmp_path / "t.csv")
    assert b"\r" not in path.read_bytes()
    rows = cells(path)
    assert len(rows) == 2
    assert len(rows[1]) == 2
    assert not rows[1][0].startswith(("=", "\r"))


@pytest.mark.parametrize("kind", ["object", "string", "category"])
def test_every_kind_of_text_column_is_guarded(kind: str, tmp_path: Path) -> None:
    """However the library keeps its text."""
    frame = pd.DataFrame({"runner": pd.Series(["=1+1", "Ada"]).astype(kind)})
    assert cells(write_csv(frame, tmp_path / "t.csv"))[1] == ["'=1+1"]


@pytest.mark.parametrize("name", ["Ada", "O'Hara", "1st", "a=b", " =1", "", "Åsa-Lena"])
def test_plain_names_stay_as_they_are(name: str) -> None:
    """Only the first sign counts."""
    assert plain_cell(name) == name


def test_numbers_stay_numbers(tmp_path: Path) -> None:
    """A loss of minus 1.5 s is no formula; seconds to the microsecond; nothing where nothing is."""
    frame = pd.DataFrame(
        {
            "lost_s": [-1.5, np.nan, 1 / 3],
            "place": pd.array([1, None, 3], dtype="Int64"),
            "box": [1, 2, 3],
        }
    )
    path = write_csv(frame, tmp_path / "t.csv")
    assert cells(path) == [
        ["lost_s", "place", "box"],
        ["-1.500000", "1", "1"],
        ["", "", "2"],
        ["0.333333", "3", "3"],
    ]
    assert plain_cell(-1.5) == -1.5


def test_commas_quotes_and_line_breaks_come_back(tmp_path: Path) -> None:
    """As the standard asks (RFC 4180); lines end alike on every machine; letters are UTF-8."""
    names = ["Fen, Aro", 'Bil "Tarn"', "two\nlines", "Łukasz Ø"]
    path = write_csv(pd.DataFrame({"runner": names}), tmp_path / "t.csv")
    assert [row[0] for row in cells(path)[1:]] == names
    assert b"\r" not in path.read_bytes()
    assert not path.read_bytes().startswith(b"\xef\xbb\xbf")


def test_a_table_on_the_terminal_is_aligned() -> None:
    """Words to the left, numbers to the right, a rule under the head, nothing behind the last cell."""
    text = table_text([["box", "lost"], ["1", "2.5"], ["12", "10.0"]])
    assert text.splitlines() == ["box  lost", "---------", "1     2.5", "12   10.0"]
