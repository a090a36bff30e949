"""What is clicked on a course stands in its file, and nothing else of the ground moves."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.scenario.in_text.toml_edit import edited
from simrun.scenario.in_text.written_ground import PlaceAsked, found_at, place_changes
from simrun.scenario.in_text.written_line import width_changes
from simrun.scenario.reader import read, read_as
from simrun.scenario.scenario import Scenario

SCENARIOS = Path(__file__).parents[3] / "scenarios"
FEN, FERRY, OSTREL = (
    SCENARIOS / f"{n}.toml" for n in ("brindle_fen", "ferry_meadow", "ostrel_common")
)


def after(path: Path, asked: PlaceAsked) -> tuple[str, Scenario]:
    text = edited(path.read_text("utf-8"), place_changes(read(path), asked))
    return text, read_as(text, path)


@pytest.mark.parametrize(
    ("asked", "wide_m"),
    [
        (PlaceAsked("gate", "field gate", 400, width_m=2.5), {400.5: 2.5, 398.5: 6.0, 402.5: 6.0}),
        (PlaceAsked("narrowing", "squeeze", 350, 20, 3), {351: 3.0, 369: 3.0, 372: 6.0, 339: 6.0}),
        (PlaceAsked("trail", "wood", 350, 20, 2), {352: 2.0, 369: 2.0, 372: 6.0}),
        (PlaceAsked("hill", "mound", 350, 40, climb_m=4), {351: 6.0, 389: 6.0}),
    ],
    ids=lambda asked: asked.kind if isinstance(asked, PlaceAsked) else "",
)
def test_a_stretch_is_cut_out_and_the_end_stays(
    asked: PlaceAsked, wide_m: dict[float, float]
) -> None:
    """The ditch side is 6 m wide and runs from 274 to 434 m; the finish stays to the centimetre."""
    day, (text, told) = read(FEN), after(FEN, asked)
    ends = [one.strip.middle_m[one.strip.finish_cut] for one in (day, told)]
    assert np.hypot(*(ends[0] - ends[1])) < 0.02
    assert told.strip.height_m[-1] == pytest.approx(day.strip.height_m[-1], abs=0.01)
    for at_m, width in wide_m.items():
        found = np.interp(at_m, told.strip.station_m, told.strip.width_m)
        assert found == pytest.approx(width, abs=0.05), at_m
    assert asked.name in {piece.name for piece in told.course.pieces}
    lost = [line for line in FEN.read_text("utf-8").splitlines() if line not in text.splitlines()]
    assert lost == ["length = 160"]


def test_a_hill_climbs_and_comes_down_again() -> None:
    """4 m up over 20 m, on the home field, which climbs 3 m over 260 m by itself."""
    _, told = after(FEN, PlaceAsked("hill", "mound", 650, 40, climb_m=4))
    strip = told.strip
    top, foot = (float(np.interp(at, strip.station_m, strip.height_m)) for at in (670, 690))
    assert top == pytest.approx(4 + 3 * 73.7 / 260, abs=0.05)
    assert foot == pytest.approx(3 * 93.7 / 260, abs=0.05)


def test_a_turn_goes_about_a_post() -> None:
    """R tan(45 deg) = 2 m further on both legs, so that everything behind lies where it lay."""
    day, (_, told) = read(FEN), after(FEN, PlaceAsked("post", "flag", 290))
    turn = next(piece for piece in told.course.pieces if piece.name == "pump corner")
    assert (turn.inside_radius_m, turn.around) == (0.0, "flag")
    assert [piece.length_m for piece in told.course.pieces[2:5:2]] == [97.0, 162.0]
    ends = [one.strip.middle_m[one.strip.finish_cut] for one in (day, told)]
    assert np.hypot(*(ends[0] - ends[1])) < 0.01


def test_people_of_ours_stand_here_and_nothing_is_raced_otherwise() -> None:
    """A place of its own, or the word at one that the coach has told already."""
    text, told = after(FEN, PlaceAsked("people", "Ada", 500, side="left"))
    assert [(p.name, p.at, p.side) for p in told.places if p.name == "Ada"] == [
        ("Ada", 500.0, "left")
    ]
    assert told.raced_json() == read(FEN).raced_json()
    assert text.startswith(FEN.read_text("utf-8"))
    _, again = after(FEN, PlaceAsked("people", "", 560))
    assert [place.crowd for place in again.places if place.at == "three willows"] == [True]
    assert len(again.places) == len(read(FEN).places)


def test_a_gate_on_a_lap_that_is_run_twice() -> None:
    """Clicked on the second lap it stands on both, and the lap still closes."""
    _, told = after(FERRY, PlaceAsked("gate", "new gate", 1150 + 150, width_m=3))
    assert [gate.lap for gate in told.strip.gates if gate.name == "new gate"] == [1, 2]


def test_a_click_is_found_on_its_piece() -> None:
    """By hand: the drove runs from 175 m, the ditch side 122.3 m behind its beginning at 396 m."""
    found = found_at(read(FEN), 200.0)
    assert (found.index, found.width_m) == (2, 4.0)
    assert found.offset_m == pytest.approx(25.0, abs=0.05)


@pytest.mark.parametrize(
    ("path", "asked", "told"),
    [
        (FEN, PlaceAsked("gate", "g", 272, width_m=2), "on a straight stretch"),
        (FEN, PlaceAsked("trail", "t", 400, 300, 2), "34 m left"),
        (FEN, PlaceAsked("gate", "g", 400), "how wide it is"),
        (FEN, PlaceAsked("hill", "h", 400, 20), "by how much it climbs"),
        (FEN, PlaceAsked("post", "p", 60), "a place on a turn"),
        (OSTREL, PlaceAsked("gate", "g", 400, width_m=2), "stand in its map file"),
    ],
)
def test_what_does_not_fit_is_told(path: Path, asked: PlaceAsked, told: str) -> None:
    """One line each, and which place would do."""
    with pytest.raises(BadInput, match=told):
        place_changes(read(path), asked)


def test_a_width_that_was_inherited_is_changed_there_alone() -> None:
    """The drove has no width of its own and is as wide as the gap; so is the pump corner behind it."""
    day, text = read(FEN), FEN.read_text("utf-8")
    told = read_as(edited(text, width_changes(day, 3, 5.5)), FEN)
    assert [piece.width_m for piece in told.course.pieces[1:5]] == [4.0, 5.5, 4.0, 6.0]
