"""The director's day: several races on one line, and for each the check, the layout and the sheet."""

from __future__ import annotations

from pathlib import Path

import pytest

from simrun.answers.kinds import all_kinds
from simrun.answers.options import options_of
from simrun.cli import main
from tests.unit.scenario.test_races import folder

__all__ = ["folder"]

TAKES_A_DAY = (
    *("race", "boxes", "brief", "tactic", "chase", "side", "check", "layout"),
    *("sheet", "card", "finish", "disturb", "preview", "sure", "learn"),
)


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


@pytest.mark.parametrize("kind", [kind.name for kind in all_kinds()])
def test_every_command_that_takes_a_race_day_takes_one_race_of_it(kind: str) -> None:
    """Wherever a scenario is asked, so is --race; what is no race day has none of a day."""
    (found,) = (each for each in all_kinds() if each.name == kind)
    takes = any(option.is_day for option in found.options)
    names = [option.name for option in options_of(found)]
    assert names.count("--race") == int(takes or kind in ("course", "new"))
    assert takes == (kind in TAKES_A_DAY)


@pytest.mark.slow
def test_a_race_that_is_named_is_run_in_a_folder_of_its_own(
    folder: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Asked nothing it says which race it took; a race that is not there is one line."""
    monkeypatch.chdir(tmp_path)
    file = str(folder / "day.toml")
    assert main(["race", file, "--no-gif", "--race", "JV girls"]) == 0
    told = capsys.readouterr()
    assert "Fen day: JV girls" in told.out
    assert "a day of" not in told.err
    assert (tmp_path / "outputs" / "day" / "jv_girls" / "loss.csv").is_file()
    assert main(["race", file, "--no-gif", "--to", "5"]) == 0
    assert "this is Varsity girls, the first. --race NAME takes another" in capsys.readouterr().err
    assert (tmp_path / "outputs" / "day" / "loss.csv").is_file()
    assert main(["boxes", file, "--race", "JV gils"]) == 2
    assert "did you mean 'JV girls'" in capsys.readouterr().err


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
