"""A box sheet seats its teams; every mistake in it is one line."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simrun.base.errors import BadInput
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.box_sheet import parse_box_sheet

DUAL = Path(__file__).parents[3] / "scenarios" / "dual_meet.toml"
SHEET = "Box;Team\n3;Millbrook\n 2 ;Ash Vale\n"


def with_sheet(folder: Path, sheet: str) -> Scenario:
    """The dual meet on six boxes, Millbrook without a box of its own, seated by a sheet."""
    text = DUAL.read_text("utf-8")
    text = text.replace(
        'width = "20 yd"\nboxes = 4', 'box_sheet = "sheet.csv"\nwidth = "24 yd"\nboxes = 6'
    )
    text = (
        text.replace("empty = [1, 4]\n", "")
        .replace("box = 2\n", "")
        .replace("box = 3\n", "box = 5\n")
    )
    (folder / "day.toml").write_text(text, encoding="utf-8")
    (folder / "sheet.csv").write_text(sheet, encoding="utf-8")
    return read(folder / "day.toml")


def test_teams_stand_where_the_sheet_says(tmp_path: Path) -> None:
    """Written teams take the sheet's box, others of the sheet are added, a box in the file stands."""
    day = with_sheet(tmp_path, SHEET + "1;Thornwick\n")
    assert {team.name: team.box for team in day.teams} == {
        "Millbrook": 3,
        "Thornwick": 5,
        "Ash Vale": 2,
    }
    assert set(day.roster(1).box) == {2, 3, 5}
    assert Scenario.from_json(day.to_json()) == day
    moved = day.changed({"teams.Ash Vale.box": 6})
    assert {team.box for team in moved.teams if team.name == "Ash Vale"} == {6}


@pytest.mark.parametrize(
    ("sheet", "told"),
    [
        ("box,team\nx,Ash\n", "sheet.csv: line 2, column box: 'x'"),
        ("box,team\n2,Ash\n2,Elm\n", "line 3, column box: box 2 again"),
        ("box,team\n2,Ash\n3,ash\n", "line 3, column team: 'ash' again"),
        ("boxes,team\n2,Ash\n", 'write columns = { box = "boxes" } under [start]'),
        ("box,team\n", "no boxes"),
        ("box,team\n2,\n", "no boxes"),
        ("box,team\n2,A\x07sh\n", "line 2, column team"),
        ("box,team\n99999999999,Ash\n", "line 2, column box"),
    ],
)
def test_mistakes_are_told(tmp_path: Path, sheet: str, told: str) -> None:
    with pytest.raises(BadInput) as wrong:
        with_sheet(tmp_path, sheet)
    assert told in str(wrong.value)


def test_a_sheet_that_is_not_there_is_told(tmp_path: Path) -> None:
    with_sheet(tmp_path, SHEET)
    (tmp_path / "sheet.csv").unlink()
    with pytest.raises(BadInput, match=r"start\.box_sheet"):
        read(tmp_path / "day.toml")


@given(st.text(max_size=200))
def test_any_text_is_a_sheet_or_one_refusal(text: str) -> None:
    try:
        seats = parse_box_sheet(text, "sheet.csv")
    except BadInput:
        return
    assert len(set(seats.values())) == len(seats)
