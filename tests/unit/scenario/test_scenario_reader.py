"""What a right file says: every value where the race looks for it."""

from __future__ import annotations

from pathlib import Path

import pytest

from simrun.base.errors import BadInput
from simrun.course.strip import EdgeKind, Side
from simrun.scenario.built_ground import course_source, line_on_strip_problems
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from tests.helpers.scenario_text import ENTRIES, SMALL, swapped, write_scenario

SHIPPED = Path(__file__).parents[3] / "scenarios"

LISTED = swapped("[field]\nteams = 2", '[field]\nseed_times = "entries.csv"', SMALL)


@pytest.fixture
def whole(tmp_path: Path) -> Scenario:
    """The scenario that uses nearly every key."""
    return read(write_scenario(tmp_path))


def with_entries(folder: Path, text: str, entries: str = ENTRIES) -> Scenario:
    """A scenario that reads an entry list."""
    (folder / "entries.csv").write_text(entries, encoding="utf-8")
    return read(write_scenario(folder, text))


def test_head_and_clock(whole: Scenario) -> None:
    """The name, the world, the units, the clock in seconds."""
    assert (whole.name, whole.invented, whole.units) == ("Low Meadow farm race", True, "metric")
    assert (whole.clock.limit_s, whole.clock.step_s, whole.clock.frame_s) == (360, 0.05, 0.1)


def test_the_line(whole: Scenario) -> None:
    """Lengths in metres, and the painted line of that width, bowed on an arc."""
    start = whole.start
    assert (start.width_m, start.aim_m, start.box_width_m) == (60, 160, 2.5)
    assert (start.boxes, start.front_row, start.row_gap_m) == (24, 3, 1)
    assert (start.empty, start.gun) == ((7,), "left")
    assert len(whole.start_line.boxes) == 24
    assert whole.start_line.spec.shape == "arc"
    assert whole.start_line is whole.start_line


def test_the_ground(whole: Scenario) -> None:
    """Two laps of four named turns, and a throat; 150 + 40 m and two laps in all."""
    turns = [(gate.name, gate.lap) for gate in whole.strip.gates if gate.kind == "turn"]
    names = ["barn corner", "post turn", "yard turn", "gate bend"]
    assert turns == [(name, lap) for lap in (1, 2) for name in names]
    assert [mark.name for mark in whole.strip.checkpoints] == ["400 m"]
    assert [mark.station_m for mark in whole.strip.landmarks] == [pytest.approx(137.16)]


def test_pieces_become_the_builders_pieces(whole: Scenario) -> None:
    """Every word of a piece reaches the builder of the course."""
    source = course_source(whole.start, whole.course, 7, {})
    meadow, gateway, bank, barn, flood = source.pieces[:5]
    assert (meadow.kind, meadow.length_m, meadow.width_m) == ("straight", 150, 60)
    assert (meadow.left_edge, meadow.right_edge) == (EdgeKind.MARKED, EdgeKind.BARRIER)
    assert (gateway.side, gateway.length_m, gateway.width_m) == (Side.LEFT, 40, 8)
    assert (bank.length_m, bank.climb_m, bank.width_m) == (pytest.approx(182.88), 2, None)
    assert (barn.side, barn.angle_deg, barn.inside_radius_m) == (Side.LEFT, 90, 4)
    assert (barn.around, flood.surface) == ("corner of the barn", "dirt")
    assert source.laps is not None
    assert (source.laps.first, source.laps.last, source.laps.times) == (
        "bank straight",
        "gate bend",
        2,
    )


@pytest.mark.parametrize(("runners", "apron_m"), [(3, 5.3), (4, 6.3), (7, 7.3), (12, 8.3)])
def test_room_behind_the_line_for_every_row(whole: Scenario, runners: int, apron_m: float) -> None:
    """Toes on the paint 0.3 m, one row gap of 1 m a further row of three, and 5 m."""
    source = course_source(whole.start, whole.course, runners, {})
    assert source.apron_m == pytest.approx(apron_m)


def test_a_drawing_becomes_the_builders_drawing(tmp_path: Path) -> None:
    """The text of the drawing, the kinds of its edges, and the width it does not say itself."""
    scenario = read(write_scenario(tmp_path, SMALL))
    drawn = {"drawn": "meadow.geojson", "edges": {"right": "barrier"}, "width": 12, "pieces": []}
    course = type(scenario.course).model_validate(drawn)
    drawing = course_source(scenario.start, course, 7, {"meadow.geojson": "text"}).drawing
    assert drawing is not None
    assert (drawing.text, drawing.file, drawing.width_m) == ("text", "meadow.geojson", 12)
    assert (drawing.left_edge, drawing.right_edge) == (EdgeKind.MARKED, EdgeKind.BARRIER)


@pytest.mark.parametrize(("width_m", "wrong"), [(30, 0), (30.2, 1)])
def test_the_line_must_fit_a_drawing(tmp_path: Path, width_m: float, wrong: int) -> None:
    """A drawing's width at the start is known once it is built: 30 m here."""
    scenario = read(write_scenario(tmp_path, SMALL))
    start = scenario.start.model_copy(update={"width_m": width_m})
    problems = list(line_on_strip_problems(start, scenario.strip))
    assert [problem.key for problem in problems] == ["start.width"] * wrong


def test_the_field(whole: Scenario) -> None:
    """Times in seconds, lengths in metres, shares as written."""
    field = whole.field
    assert (field.ability, field.time_s, field.spread_s, field.body) == ("normal", 1110, 60, "men")
    assert (field.opening, field.opening_spread) == (0.10, 0.03)
    assert (field.opening_for_m, field.settle_over_m) == (200, 200)
    assert (field.lines.inside, field.lines.middle, field.lines.outside) == (0.6, 0.2, 0.2)
    assert field.pull == (0.3, 1.0)


def test_our_team(whole: Scenario) -> None:
    """The team that is ours, its tactics and its people in order."""
    ours = whole.teams[0]
    assert whole.our_team == ours.name == "Alderbrook"
    assert (ours.box, ours.runners, ours.opening, ours.line) == (12, 6, 0.12, "outside")
    assert ours.lines == {"barn corner": "inside", "gate bend@2": 1.5}
    assert (ours.pull, ours.front) == (0.5, ("Aro Fen", "Bil Tarn"))
    assert [person.name for person in ours.people] == ["Aro Fen", "Bil Tarn", "Cade Holm"]
    first = ours.people[0]
    assert (first.time_s, first.opening, first.line, first.row) == (1075, 0.15, "inside", 1)
    assert (ours.people[1].time_s, ours.people[2].row) == (None, 2)
    assert whole.teams[1].runners == 7
    assert whole.runners == 13


def test_what_is_not_written(tmp_path: Path) -> None:
    """Every default in one place."""
    small = read(write_scenario(tmp_path, SMALL))
    assert (small.invented, small.units, small.about) == (True, "metric", "")
    assert (small.clock.limit_s, small.clock.step_s, small.clock.frame_s) == (1200, 0.05, 0.1)
    assert (small.start.shape, small.start.draw, small.start.row_gap_m) == ("straight", "list", 1)
    assert (small.field.ability, small.field.body) == ("boys varsity 5 km", "men")
    assert small.field.runners == 7
    assert [(team.name, team.box) for team in small.teams] == [("Team 1", 1), ("Team 2", 2)]
    assert small.our_team is None


@pytest.mark.parametrize(("step", "frame_s"), [("0.04", 0.08), ("0.03", 0.09), ("0.1", 0.1)])
def test_the_frame_is_the_multiple_of_the_step_nearest_to_a_tenth(
    tmp_path: Path, step: str, frame_s: float
) -> None:
    """A step of its own does not force a frame of its own."""
    clock = f"[clock]\nstep_s = {step}\n[start]"
    scenario = read(write_scenario(tmp_path, swapped("[start]", clock, SMALL)))
    assert scenario.clock.frame_s == pytest.approx(frame_s)


def test_girls_have_womens_bodies(tmp_path: Path) -> None:
    """Unless the file says otherwise."""
    girls = swapped("teams = 2", 'teams = 2\nability = "girls varsity 5 km"', SMALL)
    assert read(write_scenario(tmp_path, girls)).field.body == "women"


def test_filling_takes_the_boxes_that_are_left(tmp_path: Path) -> None:
    """Twenty-four boxes, one empty, two taken: twenty-one more teams, from left to right."""
    scenario = read(write_scenario(tmp_path, swapped("fill = false", "fill = true")))
    boxes = [team.box for team in scenario.teams]
    assert boxes[:4] == [12, 3, 1, 2]
    assert sorted(box for box in boxes if box) == [box for box in range(1, 25) if box != 7]
    assert len({team.name for team in scenario.teams}) == 23


def test_a_drawn_box_is_left_to_the_seed(tmp_path: Path) -> None:
    """A named box stays pinned; the others are drawn from the boxes that are left."""
    text = swapped('draw = "list"', 'draw = "seed"')
    scenario = read(write_scenario(tmp_path, swapped("box = 3\n", "", text)))
    assert [team.box for team in scenario.teams] == [12, None]
    assert scenario.boxes_to_draw == tuple(box for box in range(1, 25) if box not in (7, 12))


def test_teams_out_of_the_entry_list(tmp_path: Path) -> None:
    """Without [[teams]] the list makes the teams, in its order, with all its people."""
    scenario = with_entries(tmp_path, LISTED)
    assert [(team.name, team.box, team.runners) for team in scenario.teams] == [
        ("Alderbrook", 1, 3),
        ("Birchmoor", 2, 2),
    ]
    assert [person.time_s for person in scenario.teams[0].people] == [1075, 1090.5, 1120]
    assert scenario.attachments == {"entries.csv": ENTRIES}
    assert scenario.field.ability is None


def test_a_listed_team_takes_its_people_from_the_entry_list(tmp_path: Path) -> None:
    """Own people first, with the list's time or their own; then the rest, up to `runners`."""
    team = '[[teams]]\nname = "Alderbrook"\nbox = 5\nrunners = 2\n[[teams.people]]\n'
    text = LISTED + "fill = true\n" + team + 'name = "Dun Weir"\nline = "inside"\n'
    ours, other = with_entries(tmp_path, text).teams
    assert [(p.name, p.time_s, p.line) for p in ours.people] == [
        ("Dun Weir", 1120, "inside"),
        ("Aro Fen", 1075, None),
    ]
    assert (ours.box, ours.runners, other.name, other.box) == (5, 2, "Birchmoor", 1)


def test_line_shares_may_miss_the_sum_by_their_last_digit(tmp_path: Path) -> None:
    """Thirds written to three digits."""
    thirds = "lines = { inside = 0.333, middle = 0.333, outside = 0.333 }"
    text = swapped("lines = { inside = 0.6, middle = 0.2, outside = 0.2 }", thirds)
    lines = read(write_scenario(tmp_path, text)).field.lines
    assert lines.total == pytest.approx(0.999)
    assert sum(lines.scaled.values()) == pytest.approx(1, abs=1e-12)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            {"course.pieces.11.to": "lan"},
            "course.pieces.11.to: 'lan'; the name of a piece; did you mean 'lane'",
        ),
        ({"course.pieces.11.to": None}, "course.pieces.11.to: missing; needed: the last piece"),
        ({"course.pieces.11.width": 5}, "course.pieces.11.width: written for a piece again"),
        ({"course.pieces.heath bank.climb": 5}, "course.pieces.24: the lap ends -4.0 m above"),
    ],
)
def test_ground_that_is_run_again_is_checked(change: dict[str, object], said: str) -> None:
    """One clear line for each mistake in the shipped course of a short loop and two long laps."""
    with pytest.raises(BadInput) as caught:
        read(SHIPPED / "sallow_heath.toml").changed(change)
    assert said in str(caught.value)
