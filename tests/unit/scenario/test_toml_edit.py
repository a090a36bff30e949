"""A changed file: what is named is changed, and everything else stays to the last sign."""

from __future__ import annotations

import difflib
from pathlib import Path

import pytest

from simrun.base.errors import BadInput
from simrun.measure.wheel import extra_metres, measure_ground
from simrun.scenario.in_text.toml_edit import edited, length_like
from simrun.scenario.in_text.written_line import LineAsked, line_changes, width_changes, with_line
from simrun.scenario.in_text.written_plan import (
    ListsAsked,
    PlanAsked,
    list_changes,
    mark_changes,
    ours_changes,
    people_changes,
    plan_changes,
)
from simrun.scenario.reader import read, read_as

SCENARIOS = Path(__file__).parents[3] / "scenarios"
SHIPPED = sorted(SCENARIOS.glob("*.toml"))
FEN, DUAL = SCENARIOS / "brindle_fen.toml", SCENARIOS / "dual_meet.toml"


def changed_lines(before: str, after: str) -> list[str]:
    """The lines that went and came, with their sign."""
    told = difflib.ndiff(before.splitlines(), after.splitlines())
    return [line for line in told if line[:2] in ("- ", "+ ")]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_one_drag_of_the_line_differs_in_that_line_alone(path: Path) -> None:
    """Comments, order and spaces of every shipped scenario stay."""
    day, text = read(path), path.read_text("utf-8")
    room = day.start.width_m - day.start.boxes * day.start.box_width_m
    after = edited(text, line_changes(day, LineAsked(width_m=day.start.width_m - room / 2)))
    changed = changed_lines(text, after)
    assert [line[:10] for line in changed] == (["- width = ", "+ width = "] if room > 0.02 else [])
    assert read_as(after, path).start.width_m == pytest.approx(
        day.start.width_m - room / 2, abs=0.006
    )
    turned = edited(text, line_changes(day, LineAsked(tilt_deg=day.start.tilt_deg + 1.5)))
    assert [
        line for line in changed_lines(text, turned) if line[:7] not in ("- tilt ", "+ tilt ")
    ] == []
    assert read_as(turned, path).start.tilt_deg == day.start.tilt_deg + 1.5


def test_a_line_moved_sideways_says_so_in_one_line() -> None:
    """On the green, 4.6 m wider than its line; back again to where it stood."""
    path = next(path for path in SHIPPED if path.stem == "dual_meet")
    day, text = read(path), path.read_text("utf-8")
    moved = edited(text, line_changes(day, LineAsked(sideways_m=-1.5)))
    assert [line[:10] for line in changed_lines(text, moved)] == ["+ sideways"]
    assert read_as(moved, path).start.sideways_m == pytest.approx(-1.5, abs=0.006)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_nothing_changed_is_the_same_file(path: Path) -> None:
    """Reading and writing alone changes no sign."""
    text = path.read_text("utf-8")
    assert edited(text, []) == text


def test_a_length_is_written_as_it_was() -> None:
    """Yards stay yards, numbers numbers; by hand: 20 m is 21.87 yd."""
    assert length_like("18 yd", 20.0, "metric") == "21.87 yd"
    assert length_like("18yards", 20.0, "metric") == "21.87yards"
    assert length_like(36, 40.0, "us") == 40
    assert length_like(None, 20.0, "us") == "21.87 yd"
    assert length_like(None, 20.257, "metric") == 20.26


def test_what_is_dragged_is_what_is_kept() -> None:
    """The line while it is dragged is, box for box, the line of the file once it is let go."""
    day, text = read(FEN), FEN.read_text("utf-8")
    asked = LineAsked(width_m=41.3, bow_m=1.7, tilt_deg=3.5)
    kept = read_as(edited(text, line_changes(day, asked)), FEN)
    dragged = with_line(day, asked)
    assert extra_metres(dragged).tolist() == extra_metres(kept).tolist()
    report = measure_ground(kept)
    assert [box.to_first_gate_m for box in report.boxes] == extra_metres(kept).tolist()


def test_a_bow_becomes_an_arc_and_no_bow_a_straight_line() -> None:
    """D = (b^2 + (W/2)^2) / (2 b): for 36 m and 2 m by hand (4 + 324) / 4 = 82 m."""
    day, text = read(FEN), FEN.read_text("utf-8")
    bent = edited(text, line_changes(day, LineAsked(bow_m=2.0)))
    arc = read_as(bent, FEN)
    assert (arc.start.shape, arc.start.aim_m) == ("arc", 82.0)
    assert edited(bent, line_changes(arc, LineAsked(bow_m=0.0))) == text


def test_a_longer_straight_takes_its_marks_along() -> None:
    """The tea tent at 70 m lies on the straight; the hedge gap at 175 behind it."""
    day, text = read(FEN), FEN.read_text("utf-8")
    longer = read_as(edited(text, line_changes(day, LineAsked(straight_m=150.0))), FEN)
    at = {
        mark.name: mark.station_m for mark in (*longer.strip.checkpoints, *longer.strip.landmarks)
    }
    assert at["tea tent"] == 70
    assert at["hedge gap"] == 195
    assert longer.strip.length_m == pytest.approx(day.strip.length_m + 20, abs=0.01)


def test_the_width_of_a_piece() -> None:
    """The ditch side is the fifth piece; a piece that is not there is told."""
    day, text = read(FEN), FEN.read_text("utf-8")
    after = edited(text, width_changes(day, 5, 7.25))
    assert changed_lines(text, after) == ["- width = 6", "+ width = 7.25"]
    assert read_as(after, FEN).course.pieces[4].width_m == 7.25
    with pytest.raises(BadInput, match="no piece 12"):
        width_changes(day, 12, 4.0)


def test_a_plan_of_people_out_of_a_list() -> None:
    """Front row, line, opening and box: told, and nobody else moves."""
    day, text = read(FEN), FEN.read_text("utf-8")
    names = [person.name for person in next(team for team in day.teams if team.ours).people]
    front = (names[4], names[0], names[6])
    asked = PlanAsked(
        front=front, openings={names[2]: 0.18}, lines={"pump corner": "outside"}, box=3
    )
    after = read_as(edited(text, plan_changes(day, asked)), FEN)
    ours = next(team for team in after.teams if team.ours)
    assert [person.name for person in ours.people] == names
    assert {person.name: person.opening for person in ours.people if person.opening} == {
        names[2]: 0.18
    }
    assert (ours.front, ours.box, ours.lines) == (front, 3, {"pump corner": "outside"})
    other = next(team for team in day.teams if team.box == 3)
    before = next(team for team in day.teams if team.ours)
    assert next(team for team in after.teams if team.name == other.name).box == before.box
    gone = [
        line
        for line in changed_lines(text, edited(text, plan_changes(day, asked)))
        if line[0] == "-"
    ]
    assert gone == []


def test_lists_take_the_place_of_an_invented_field(tmp_path: Path) -> None:
    """The two papers of one day, named by another: its runners are those of the list."""
    text, there = DUAL.read_text("utf-8"), tmp_path / "dual.toml"
    for kind in ("entries", "boxes"):
        paper = SCENARIOS / f"brindle_fen_{kind}.csv"
        (tmp_path / paper.name).write_bytes(paper.read_bytes())
    line = {"boxes": 14, "width": "36 m", "box_width": "2.5 m", "empty": None}
    changes = [(("start", key), value) for key, value in line.items()]
    wider = edited(text, [*changes, (("course", "pieces", 1, "width"), "36 m")])
    day = read_as(
        wider.replace("box = 2\n", "box = 3\n", 1).replace("box = 3\n", "box = 4\n", 1), there
    )
    asked = ListsAsked("Ellerfold", "brindle_fen_entries.csv", "brindle_fen_boxes.csv")
    listed = read_as(edited(wider, list_changes(day, asked)), there)
    fen = read(FEN)
    assert listed.our_team == "Ellerfold"
    assert {t.name: t.box for t in listed.teams} == {t.name: t.box for t in fen.teams}
    people = {t.name: [p.name for p in t.people][:7] for t in listed.teams}
    assert people == {t.name: [p.name for p in t.people] for t in fen.teams}


def test_names_of_a_team_made_up_so_far_and_a_landmark() -> None:
    """Our runners by name and time; another team is ours; a place has a name."""
    day, text = read(DUAL), DUAL.read_text("utf-8")
    people = [{"name": "Ora Harrer", "time": "20:01"}, {"name": "Ina Moss", "time": None}]
    named = read_as(edited(text, people_changes(day, people)), DUAL)
    ours = next(team for team in named.teams if team.ours)
    assert [(p.name, p.time_s) for p in ours.people] == [("Ora Harrer", 1201.0), ("Ina Moss", None)]
    other = read_as(edited(text, ours_changes(day, "Thornwick")), DUAL)
    assert other.our_team == "Thornwick"
    marked = read_as(edited(text, mark_changes(day, "old pump", 91.44)), DUAL)
    assert {mark.name: mark.station_m for mark in marked.strip.landmarks}["old pump"] == 91.44


@pytest.mark.parametrize(
    "changes",
    [
        [(("course", "pieces", 99, "width"), 4)],
        [(("course", "pieces", "nowhere", "width"), 4), (("course", "pieces", 0, "width"), 4)],
    ],
)
def test_a_key_that_leads_nowhere_is_refused(changes: list) -> None:  # type: ignore[type-arg]
    """One line, and no text."""
    with pytest.raises(BadInput):
        read_as(edited(FEN.read_text("utf-8"), changes), FEN)
