"""Lists as they are pasted: what is understood is shown, what is open is asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from simrun.desk.work.pasted import Settled, looked_at
from simrun.scenario.reader import read
from tests.helpers.desks import Asker, folder_with

SCENARIOS = Path(__file__).parents[3] / "scenarios"
ENTRIES = (SCENARIOS / "brindle_fen_entries.csv").read_text("utf-8")
BOXES = (SCENARIOS / "brindle_fen_boxes.csv").read_text("utf-8")


def as_pasted(text: str) -> str:
    """What a spreadsheet puts on the clipboard: columns parted by tabs."""
    return text.replace(",", "\t")


def test_a_list_out_of_a_spreadsheet_is_understood() -> None:
    """The columns by their names; the same runners as the command line reads."""
    found = looked_at(as_pasted(ENTRIES), as_pasted(BOXES), Settled())
    day = read(SCENARIOS / "brindle_fen.toml")
    assert found["entries"]["columns"]["team"] == [3]
    assert found["entries"]["columns"]["time"] == [5]
    assert set(found["teams"]) == {team.name for team in day.teams}
    assert found["seats"] == {team.name: team.box for team in day.teams}
    assert found["unlisted"] == []


def test_what_is_open_is_asked_and_settled() -> None:
    """A column without a name that says what it is: named by its number, the list is read."""
    odd = "Runner,Squad,Best\nOra Harrer,Ashmarl,20:01\nIna Moss,Ashmarl,NT\n"
    found = looked_at(odd, "", Settled())
    assert found["entries"]["wrong"]
    settled = looked_at(odd, "", Settled(entry_columns={"team": 2, "time": 3}))
    assert "wrong" not in settled["entries"]
    assert settled["entries"]["untimed"] == 1
    left_out = looked_at(odd, "", Settled({"team": 2, "time": 3}, no_time="leave out"))
    assert left_out["entries"]["runners"] == 1


def test_races_of_one_list_are_offered() -> None:
    """Several races in a column: all are named, and one that is chosen is read alone."""
    two = "Name,Team,Time,Race\nOra,Ash,20:01,Varsity\nIna,Ash,21:01,JV\n"
    found = looked_at(two, "", Settled())
    assert found["entries"]["races"] == ["Varsity", "JV"]
    assert looked_at(two, "", Settled(race="JV"))["entries"]["runners"] == 1


@pytest.mark.parametrize("text", ["\x00\x01\x02", '"', "a\n" * 5000, ",,,,\n,,,,", "\t\t\t"])
def test_what_is_no_list_is_told_in_lines(text: str) -> None:
    """No error of ours reaches the page."""
    found = looked_at(text, text, Settled())
    assert not found["teams"] or found["entries"]["wrong"] or found["boxes"]["wrong"]


def test_lists_are_kept_as_files_that_the_command_line_reads(tmp_path: Path) -> None:
    """The day is that of the shipped papers, runner for runner; undo gives the old text back."""
    folder = folder_with(tmp_path, "brindle_fen")
    file = folder / "brindle_fen.toml"
    desk = Asker(folder)
    _, day = desk.get("day", "file=brindle_fen.toml")
    asked = {"entries": as_pasted(ENTRIES), "boxes": as_pasted(BOXES), "ours": "Larkmoss"}
    status, told = desk.post("lists", file=file.name, digest=day["digest"], **asked)
    assert status == 200, told
    kept, shipped = read(file), read(SCENARIOS / "brindle_fen.toml")
    assert kept.our_team == "Larkmoss"
    assert {t.name: [(p.name, p.time_s) for p in t.people] for t in kept.teams} == {
        t.name: [(p.name, p.time_s) for p in t.people] for t in shipped.teams
    }
    # The shipped lists stand beside it and are another's: nothing was overwritten.
    assert (folder / "brindle_fen_entries.csv").read_text("utf-8") == ENTRIES
    assert kept.field.seed_times == "brindle_fen_entries_2.csv"
    status, _ = desk.post("undo", file=file.name, digest=told["digest"])
    assert read(file).our_team == "Ellerfold"
