"""The director's day: several races on one line, and for each the check, the layout and the sheet."""

from __future__ import annotations

from pathlib import Path

import pytest

from simrun.cli import main
from tests.unit.scenario.test_races import folder

__all__ = ["folder"]

FEW = ["--seeds", "1", "--workers", "1", "--quiet"]


def test_every_race_of_the_day_is_inspected(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One page a race in a folder of its own, or those asked for; what is not there is one line."""
    assert main(["check", str(folder / "day.toml"), "--out", str(tmp_path), "--quiet"]) == 0
    pages = sorted(path.parent.name for path in tmp_path.rglob("check.html"))
    assert pages == ["day_jv", "day_jv_girls", "day_varsity_girls"]
    assert "Fen day: JV girls" in (tmp_path / "day_jv_girls" / "check.html").read_text("utf-8")
    capsys.readouterr()
    assert main(["check", str(folder / "day.toml"), "--race", "JV gils"]) == 2
    assert capsys.readouterr().err.count("\n") == 1


@pytest.mark.slow
def test_layout_and_sheet_are_told_race_by_race(folder: Path, tmp_path: Path) -> None:
    """Two races have a folder each; one alone stands in the folder itself."""
    file, both = str(folder / "day.toml"), ["--race", "Varsity girls", "--race", "JV"]
    asked = ["layout", file, *both, *FEW, "--until", "100", "--out", str(tmp_path / "lines")]
    assert main(asked) == 0
    assert sorted(path.name for path in (tmp_path / "lines").iterdir()) == ["jv", "varsity_girls"]
    assert (tmp_path / "lines" / "jv" / "stakes.csv").is_file()
    sheet = ["sheet", file, "--race", "JV", "--team", "Ashmarl JV boys", *FEW]
    assert main([*sheet, "--out", str(tmp_path / "sheets")]) == 0
    assert "Ashmarl JV boys" in (tmp_path / "sheets" / "sheet.html").read_text("utf-8")
