"""Which marks a sheet goes by, and every sentence of it from records made by hand."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

import simrun
from simrun.answers.sheet.sheet_marks import SheetMark, begins_of, drop_order, sheet_marks
from simrun.answers.sheet.sheet_records import (
    Band,
    Near,
    Seen,
    SheetFigures,
    Stand,
    Stretch,
    Told,
    Who,
)
from simrun.answers.sheet.sheet_rows import band_of, short_names
from simrun.answers.sheet.words import (
    ahead_words,
    alone_words,
    box_words,
    foot_of,
    mark_cells,
    mark_words,
    near_cell,
    recall_words,
    rival_words,
    said_of,
    seen_words,
    sentence_of,
    time_words,
)
from simrun.measure.passing import Passing
from simrun.measure.squad.where_to_be import Narrow

SCENARIOS = Path(__file__).parents[3] / "scenarios"
FEN = simrun.read(SCENARIOS / "brindle_fen.toml")
NEVER = np.full(7, np.inf)


def plan(**stages: float) -> dict[str, np.ndarray]:
    """Seven who all begin these stages there."""
    return {key: np.full(7, stages.get(key, np.inf)) for key in ("settle", "sit", "move", "kick")}


def test_the_marks_are_the_coachs_own_landmarks_and_the_last_one_leads_into_the_narrow_piece() -> (
    None
):
    """Gun first, finish last; the tea tent leads into the hedge gap, the wind pump into the fen path."""
    marks = sheet_marks(FEN.strip, begins_of(plan(settle=150.0)))
    names = [mark.name for mark in marks]
    assert (names[0], names[-1]) == ("gun", "finish")
    assert {"tea tent", "wind pump", "three willows", "cattle trough"} <= set(names)
    leads = {mark.name: mark.narrow.name for mark in marks if mark.narrow}
    assert leads == {"tea tent": "hedge gap", "wind pump": "fen path"}
    ats = [mark.at_m for mark in marks]
    assert ats == sorted(ats)


@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.toml")), ids=lambda path: path.stem)
def test_no_course_has_more_marks_than_fit_and_no_stage_is_ever_left_out(path: Path) -> None:
    strip = simrun.read(path).strip
    begun = plan(settle=100.0, sit=0.4 * strip.length_m, kick=0.8 * strip.length_m)
    marks = sheet_marks(strip, begins_of(begun))
    assert 3 <= len(marks) <= 10
    assert [stage for mark in marks for stage, _ in mark.stages] == ["settle", "sit", "kick"]
    assert all(b.at_m > a.at_m for a, b in pairwise(marks))


def test_a_landmark_is_a_mark_on_every_lap_that_comes_by_it() -> None:
    """The file names the farm race's water trough once, at 600 m; a lap later it stands there again."""
    strip = simrun.read(SCENARIOS / "ferry_meadow.toml").strip
    marks = {mark.name: mark.at_m for mark in sheet_marks(strip, {}, most=40)}
    gates = {(gate.name, gate.lap): strip.station_m[gate.first_cut] for gate in strip.gates}
    lap_m = gates["willow bend", 2] - gates["willow bend", 1]
    assert marks["water trough, lap 2"] == pytest.approx(600 + lap_m, abs=3)
    assert "lone oak, lap 2" not in marks
    assert "lone oak" in {mark.name for mark in sheet_marks(strip, begins_of(plan(settle=200.0)))}


def test_what_is_left_out_first_is_never_a_stage_before_a_plain_turn() -> None:
    """Nor the gun and the finish at all."""
    marks = sheet_marks(FEN.strip, begins_of(plan(settle=150.0)))
    order = [mark.name for mark in drop_order(marks)]
    assert not {"gun", "finish"} & set(order)
    assert order.index("pump corner") < order.index("tea tent")


def test_a_stage_of_some_is_told_with_their_names() -> None:
    begins = plan(settle=150.0)
    begins["kick"] = np.array([700.0, 700.0, *[720.0] * 5])
    marks = sheet_marks(FEN.strip, begins_of(begins))
    kicks = {mark.at_m: who for mark in marks for stage, who in mark.stages if stage == "kick"}
    assert kicks == {700.0: (0, 1), 720.0: (2, 3, 4, 5, 6)}


WHO = tuple(
    Who(f"{name} Fosley", name, row, file, 2 if row == 1 else 1)
    for name, row, file in (("Maris", 1, 0), ("Ara", 1, 1), ("Fena", 2, 0))
)
STAND = Stand("Ellerfold", WHO, 11, "Ashmarl", "Dunmarrow", "hedge gap", 175.0, 8.8)
PIECE = Narrow("fen path", 445.0, 569.0, 2)
TWO = np.ones(2)
BUSY = Passing(100.0, 100 * TWO, 100 * TWO, 30 * TWO, 100 * TWO, TWO, TWO)
PUMP = SheetMark("wind pump", 400.0, "landmark", narrow=PIECE, stages=(("sit", (0, 1, 2)),))
AT_PUMP = Told(
    PUMP,
    (Band(102.2, 98.6, 105.4), Band(58.0, 57.4, 61.2), Band(60.4, 60.4, 60.4)),
    (Band(11, 9.6, 28.2), Band(3, 3, 3), Band(40, 31, 55)),
    BUSY,
    (("alder turn", "inside", (0, 1, 2)), ("stile turn", "inside", (0, 1, 2))),
    Band(24, 20, 31),
)
KICK = SheetMark("cattle trough", 700.0, "stage", -20.0, (("kick", (0, 2)),))
RIVAL, NOBODY = ("Sela Calder (Penwether)",), Band(np.nan, np.nan, np.nan)
NEAR = (
    Near(0, 1, Band(5, 3, 12), -5.0, 7, Band(4, 2, 9), RIVAL, 0, "", NOBODY),
    Near(1, 0, Band(5, 3, 12), 5.0, 7, Band(4, 2, 9), RIVAL, 0, "", NOBODY),
    Near(2, 1, Band(60, 52, 74), 60.0, 8, Band(0, 0, 2), (), 6, "#1", Band(18, 12, 24)),
)  # fmt: skip
STRETCH = Stretch(PUMP, KICK, NEAR)
FIGURES = SheetFigures(
    FEN,
    STAND,
    (Told(SheetMark("gun", 0.0, "gun"), (), (), None), AT_PUMP, Told(KICK, (), (), None)),
    (STRETCH,),
    (),
    10,
    "metric",
)


def test_the_sentences_of_a_mark() -> None:
    """Where to be and what it costs, what the plan begins, the line, the room there is."""
    assert said_of(AT_PUMP, FIGURES) == (
        "Be in the first 20 (20 to 31 from race to race), or lose 1 s or more at the fen path on lap 2.",
        "Sit. Inside at the alder turn and the stile turn. Little room: 3 in 10 faster runners get by.",
    )
    assert said_of(FIGURES.marks[2], FIGURES) == ("Go: Maris and Fena.",)
    assert mark_words(KICK, "metric") == "20 m before the cattle trough"
    assert mark_words(KICK, "us") == "22 yd before the cattle trough"


def test_the_headline_goes_along_the_course_and_says_what_cannot_be_told() -> None:
    assert (
        sentence_of(FIGURES) == "Box 11: be in the first 20 at the wind pump; sit at the wind pump."
    )
    unknown = Told(PUMP, AT_PUMP.time_s, AT_PUMP.place, None)
    nothing = SheetFigures(FEN, STAND, (unknown,), (), (), 10, "metric")
    assert sentence_of(nothing) == (
        "Box 11: sit at the wind pump; where to be before it closes down, these races cannot tell."
    )


def test_the_times_are_minutes_and_seconds_with_their_ranges_and_places() -> None:
    assert mark_cells(AT_PUMP) == (
        ("1:42", "1:39\N{EN DASH}45", "10\N{EN DASH}28"),
        ("58.0", "57.4\N{EN DASH}1:01", "3"),
        ("1:00", "", "31\N{EN DASH}55"),
    )
    assert time_words(Band(np.nan, np.nan, np.nan)) == ("-", "")


def test_who_stands_where_before_the_gun_and_after_a_recall() -> None:
    assert box_words(STAND) == (
        "Box 11, counted from the left facing the course; Ashmarl on the left and Dunmarrow on the right."
    )
    assert ahead_words(STAND, "metric") == "The hedge gap: 175 m ahead, 8.8 m to your left."
    assert recall_words(STAND) == (
        "Walk back and stand as before, from the left. Front row: Maris, Ara. Second row: Fena."
    )


def test_who_is_near_who_is_alone_and_whom_they_look_for() -> None:
    assert near_cell(NEAR[0], STAND, "metric") == ("Ara", "3\N{EN DASH}12", "2\N{EN DASH}9")
    assert alone_words(STRETCH, FIGURES) == (
        "Fena alone in 6 of 10 races: look for Ara, 12 to 24 m ahead.",
    )
    assert (
        rival_words(STRETCH, FIGURES) == "Rivals near: Sela Calder (Penwether) with Maris and Ara."
    )


def test_where_the_parents_stand() -> None:
    there = Seen(PUMP, KICK, 75.0, 98.4, 131.0, 190.0, 246.0)
    assert seen_words(there, "metric") == (
        "Stand at the wind pump from 1:38 to 2:11, then walk about 75 m: "
        "20 m before the cattle trough from 3:10 to 4:06."
    )
    same = Seen(
        PUMP, SheetMark("wind pump, lap 2", 900.0, "ground"), 0.0, 98.4, 131.0, 190.0, 246.0
    )
    assert seen_words(same, "metric") == (
        "Stand at the wind pump from 1:38 to 2:11; from the same spot again from 3:10 to 4:06 "
        "(wind pump, lap 2)."
    )


def test_the_foot_says_how_many_races_and_never_a_percentage() -> None:
    foot = " ".join(foot_of(FIGURES))
    assert "the middle time of 10 simulated races" in foot
    assert "%" not in foot


def test_short_names_tell_everybody_apart() -> None:
    assert short_names(["Ara Ingwick", "Maris Kirkwick"]) == ["Ara", "Maris"]
    assert short_names(["Ara Ingwick", "Ara Norer", "Bela"]) == ["Ara I.", "Ara N.", "Bela"]
    assert short_names(["Ara Ingwick", "Ara Ibley"]) == ["Ara Ingwick", "Ara Ibley"]


def test_a_band_is_the_middle_and_eight_of_ten() -> None:
    band = band_of(np.arange(1.0, 12.0), None)
    assert (band.middle, band.low, band.high) == (6.0, 2.0, 10.0)
    assert np.isnan(band_of([np.nan], None).middle)
