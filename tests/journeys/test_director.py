"""The director's way from a blank file, with an entry list, to a sheet that a crew lays the line out by."""

from __future__ import annotations

import io
import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import simrun
from simrun.cli import main
from simrun.course.start import box_ends_m, paint_m
from simrun.pages.cautions import CAUTION

ENTRIES = Path(__file__).parents[2] / "scenarios" / "brindle_fen_entries.csv"
FEW = ["--seeds", "4", "--workers", "1", "--until", "300", "--quiet"]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A day made of an entry list and nothing else, inspected, its arc to the finish raced and staked out."""
    where = tmp_path_factory.mktemp("director")
    shutil.copy(ENTRIES, where / "entries.csv")
    day, patch = where / "day.toml", pytest.MonkeyPatch()
    with patch.context() as told:
        told.setattr("sys.stdin", io.StringIO(""))
        told.chdir(where)
        asked = ["new", "day.toml", "--entries", "entries.csv", "--team", "Ellerfold", "--quiet"]
        assert main(asked) == 0
    written = day.read_text("utf-8")
    lines = 'recall = "100 m"\ncrossing = "80 m"\nambulance = "right"\n'
    day.write_text(written.replace("[start]\n", f"[start]\n{lines}"), "utf-8")
    assert (
        main(["check", str(day), "--aim", "finish", "--out", str(where / "check"), "--quiet"]) == 0
    )
    asked = ["layout", str(day), "--aim", "finish", *FEW, "--out", str(where / "lines")]
    assert main(asked) == 0
    return where


@pytest.mark.slow
def test_every_page_stands_there_with_the_caution(folder: Path) -> None:
    """The inspection tells the arc; the layout its stakes, its crowd by place, what lies across the way."""
    check = (folder / "check" / "check.html").read_text("utf-8")
    page = (folder / "lines" / "layout.html").read_text("utf-8")
    for each in (check, page):
        assert CAUTION in each.replace("&#39;", "'")
    assert "An arc about a point" in check
    table = pd.read_csv(folder / "lines" / "stakes.csv").set_index("point").where_it_stands
    told = {
        "recall line": "100.00 m from the middle peg",
        "spectators' crossing": "80.00 m from the middle peg",
        "ambulance lane": "Beside the right end",
    }
    for name, words in told.items():
        assert words in page
        assert table[name].startswith(words)
    assert "The crowd, place by place" in page


@pytest.mark.slow
def test_the_crew_has_a_sheet_on_either_paper_and_a_line_of_equal_ways(folder: Path) -> None:
    """Two whole PDFs; and a line laid out by the two tapes of stakes.csv alone is the arc that was told."""
    lines = folder / "lines"
    for name, wide_pt in (("crew_a4.pdf", 595), ("crew_letter.pdf", 612)):
        sheet = (lines / name).read_bytes()
        assert sheet.startswith(b"%PDF")
        assert sheet.rstrip().endswith(b"%%EOF")
        assert f"/MediaBox [ 0 0 {wide_pt}".encode() in sheet
    table = pd.read_csv(lines / "stakes.csv")
    pegs = table[table.point.str.contains("left peg|right peg|^peg", regex=True)].set_index("point")
    stakes = table[table.point.str.startswith("stake")]
    set_out = np.array([_crossing(pegs, row) for _, row in stakes.iterrows()])
    told = pd.read_csv(lines / "layout.csv").iloc[-1]
    spec = (
        simrun.read(folder / "day.toml")
        .changed({"start.shape": "arc", "start.aim": float(told.aim)})
        .start_line.spec
    )
    np.testing.assert_allclose(set_out, paint_m(spec, box_ends_m(spec)), atol=0.02)


def _crossing(pegs: pd.DataFrame, row: pd.Series) -> tuple[float, float]:
    """Where two tapes cross, back at the line: ahead of its middle and to the left."""
    left, right = pegs.loc[row.left_peg], pegs.loc[row.right_peg]
    apart = left.left_of_middle_m - right.left_of_middle_m
    from_left = (row.from_left_peg_m**2 - row.from_right_peg_m**2 + apart**2) / (2 * apart)
    back = np.sqrt(row.from_left_peg_m**2 - from_left**2)
    return left.ahead_m - back, left.left_of_middle_m - from_left
