"""A scenario written down again and read: the same day, with the lists that it names beside it."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from simrun.scenario.changes.changes_people import with_people_named
from simrun.scenario.in_text.toml_file import write_scenario
from simrun.scenario.reader import read
from simrun.scenario.tables.toml_text import toml_text

SCENARIOS = Path(__file__).parents[3] / "scenarios"


@pytest.mark.parametrize("file", sorted(SCENARIOS.glob("*.toml")), ids=lambda file: file.stem)
def test_every_shipped_scenario_is_the_same(file: Path) -> None:
    """Its tables, read by the standard library."""
    document = read(file).document
    assert tomllib.loads(toml_text(document)) == document


def test_odd_words_and_nested_tables_come_back() -> None:
    """Quotes, a backslash, line ends, signs that a key may not hold bare, empty lists, lists of lists."""
    document = {
        "text": 'a "quoted" \\ word\n\tand \x7f \x01 \u2028 \U0001f3c3',
        "yes": True,
        "share": 0.1,
        "many": 10**12,
        "none": [],
        "pairs": [[1, 2], [3.5, 4]],
        "table": {"odd key": 1, "a.b": 'x"y', "deep": {"in": {"deeper": "ö"}}, "rows": [{"a": 1}]},
        "list": [{"name": "one", "inner": [{"b": 2}]}, {"name": "two"}],
    }
    assert tomllib.loads(toml_text(document)) == document


def test_a_day_with_lists_is_read_again(tmp_path: Path) -> None:
    """The entry list and the box sheet stand beside it; our people are written down."""
    day = with_people_named(read(SCENARIOS / "brindle_fen.toml"), "Ellerfold", 1)
    written = write_scenario(day, tmp_path / "plan.toml")
    assert {path.name for path in written} == {
        "plan.toml",
        "brindle_fen_entries.csv",
        "brindle_fen_boxes.csv",
    }
    assert read(tmp_path / "plan.toml") == day
