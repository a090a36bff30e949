"""How sure, from the command to the page: both ranges, told inputs, inputs fixed; taken up again."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from simrun.cli import main
from simrun.pages.sure_words import FIXED, GROUP_WORDS
from simrun.sources.assumed import assumed_inputs

TOP = Path(__file__).parents[2]
SCENARIOS = TOP / "scenarios"
DUAL, FEN = (str(SCENARIOS / f"{name}.toml") for name in ("dual_meet", "brindle_fen"))
SMALL = ["--seeds", "4", "--rows", "0", "--until", "140", "--workers", "1"]


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sure")
    assert main(["sure", DUAL, *SMALL, "--out", str(folder), "--quiet"]) == 0
    return folder


def test_both_ranges_stand_side_by_side(written: Path) -> None:
    """The whole range holds that of chance alone, answer by answer."""
    found = pd.read_csv(written / "sure.csv").set_index("answer")
    assert set(found.index) == {"box", "line", "opening"}
    known = found.dropna(subset=["chance_low"])
    assert len(known) >= 2
    assert (known.low <= known.chance_low).all()
    assert (known.chance_high <= known.high).all()
    assert not (written / "hangs_on.csv").exists()
    assert "whole range" in (written / "sure.html").read_text("utf-8")


def test_called_again_it_runs_no_race_anew(
    written: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = (written / "sure_races.db").stat().st_mtime_ns
    assert main(["sure", DUAL, *SMALL, "--out", str(written), "--json"]) == 0
    (told,) = json.loads(capsys.readouterr().out)["answers"]
    assert told["figures"] == {"team": "Millbrook", "races": 4, "rows": 0}
    assert (written / "sure_races.db").stat().st_mtime_ns == before


def test_a_team_that_is_not_there_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sure", DUAL, "--team", "Milbrook", "--out", str(tmp_path / "none")]) == 2
    assert "did you mean 'Millbrook'" in capsys.readouterr().err


def test_fixed_inputs_say_so_and_print_one_range(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """An entry list and a box sheet: the same stop with inputs drawn, and with nothing drawn."""
    words = ["disturb", FEN, "--at", "30", "--seeds", "4", "--out", str(tmp_path / "out")]
    assert main(words) == 0
    drawn = capsys.readouterr().out
    page = (tmp_path / "out" / "disturbance.html").read_text("utf-8")
    assert f"{len(assumed_inputs())} assumed figures" in drawn
    assert ">chance alone</th>" in page
    assert main([*words, "--inputs", "fixed"]) == 0
    fixed = capsys.readouterr().out
    assert FIXED in fixed
    assert "chance alone" not in fixed.replace(FIXED, "")
    page = (tmp_path / "out" / "disturbance.html").read_text("utf-8")
    assert ">chance alone</th>" not in page


def test_an_input_out_of_its_range_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Wrong unit, wrong name: one line each with file, key, found, allowed; nothing is written."""
    text = Path(DUAL).read_text("utf-8")
    inputs = '[inputs]\n"runner.sway_m" = 5\nline.inside_shear = 0.5\n'
    (tmp_path / "day.toml").write_text(f"{text}\n{inputs}", "utf-8")
    out = tmp_path / "none"
    assert main(["finish", str(tmp_path / "day.toml"), "--out", str(out)]) == 2
    said = capsys.readouterr().err.splitlines()
    assert len(said) == 2
    assert "inputs.runner.sway_m: 5; a number from 0 to 0.1 m" in said[0]
    assert "did you mean 'line.inside_share'" in said[1]
    assert not out.exists()


@pytest.mark.slow
def test_every_group_has_its_share_and_rows_are_added_to(tmp_path: Path) -> None:
    """One row tells nothing of what an answer hangs on; three are one and two more, out of the store."""
    words = ["sure", DUAL, *SMALL, "--out", str(tmp_path), "--quiet"]
    for rows in ("1", "3"):
        words[words.index("--rows") + 1] = rows
        assert main(words) == 0
        groups = pd.read_csv(tmp_path / "hangs_on.csv")
        assert set(groups.group) == set(GROUP_WORDS)
        assert (groups.total_low == -np.inf).all() == (rows == "1")


@pytest.mark.slow
def test_an_entry_list_and_a_box_sheet_are_asked_as_well(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["sure", FEN, "--seeds", "4", "--rows", "0", "--until", "300", "--workers", "1"]
    assert main([*words, "--out", str(tmp_path)]) == 0
    assert "our box" in capsys.readouterr().out
    assert len(pd.read_csv(tmp_path / "sure.csv").dropna(subset=["low"])) == 3
