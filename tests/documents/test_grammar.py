"""The page of all that may be written is current, whole, and says what the tables do."""

from __future__ import annotations

from pathlib import Path

import pytest

from simrun.answers.new.grammar_words import MEANS, page_of
from simrun.cli import main
from simrun.scenario.tables.grammar import IN_TABLES, TABLES, grammar
from simrun.scenario.tables.wording import keys_of

PAGE = Path(__file__).parents[2] / "shared" / "schema" / "scenario.md"


def test_the_page_that_is_kept_is_the_page_that_is_made() -> None:
    """simrun new --grammar --out shared/schema"""
    assert PAGE.read_text("utf-8") == page_of()


def test_every_key_of_every_table_is_told_and_nothing_else() -> None:
    rows = {(row.table, row.key) for row in grammar()}
    written = {(head, key) for head, model in TABLES.items() for key in keys_of(model)}
    assert rows == written - IN_TABLES
    assert rows == MEANS.keys()
    assert all(row.allowed for row in grammar())


def test_what_may_be_is_read_off_the_tables() -> None:
    rows = {(row.table, row.key): row for row in grammar()}
    assert rows["[start]", "boxes"].allowed == "a whole number from 1 to 100"
    assert rows["[start]", "boxes"].default == "needed"
    assert rows["[field]", "opening_for"].allowed == "a length, 0 to 5000 m"
    assert rows["[field]", "opening_for"].default == "200 m"
    assert rows["[clock]", "limit"].default == "1200 s"
    assert rows["[field]", "plain_times"].allowed == "one of minutes, seconds"
    assert "barrier" in rows["[[course.pieces]]", "left"].allowed


def test_the_command_prints_the_page_and_asks_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "--grammar"]) == 0
    told = capsys.readouterr()
    assert told.out.strip() == page_of().strip()
    assert told.err == ""
