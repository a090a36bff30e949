"""A wobbly stretch is drawn straight, and the ground behind it lies where it lay."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.scenario.in_text.toml_edit import edited
from simrun.scenario.in_text.written_straight import straight_changes
from simrun.scenario.reader import read, read_as
from simrun.scenario.scenario import Scenario

FEN = Path(__file__).parents[3] / "scenarios" / "brindle_fen.toml"
FERRY = FEN.with_name("ferry_meadow.toml")
DITCH = 'name = "ditch side"\nlength = 160\nwidth = 6\n'


def wobbly(bends: list[tuple[str, float]]) -> tuple[str, Scenario]:
    """Brindle Fen with bends in its ditch side: side and degrees each, 20 m apart, and a climb among them."""
    parts = ['name = "ditch side"\nlength = 60\nwidth = 6\n']
    for side, degrees in bends:
        parts.append(f'piece = "turn"\nside = "{side}"\nangle = {degrees}\ninside_radius = 5\n')
        parts.append('piece = "straight"\nlength = 20\nclimb = 0.5\n')
    head = "\n[[course.pieces]]\n"
    text = FEN.read_text("utf-8").replace(DITCH, head.join(parts))
    text = text.replace("at = 856.2", "at = 830").replace("length = 260", "length = 300")
    return text, read_as(text, FEN)


def moved_m(one: Scenario, other: Scenario) -> float:
    """How far do the two courses end apart?"""
    ends = [day.strip.middle_m[day.strip.finish_cut] for day in (one, other)]
    return float(np.hypot(*(ends[0] - ends[1])))


@pytest.mark.parametrize(
    ("bends", "to_m", "turns"),
    [
        ([("left", 20.0), ("right", 40.0), ("left", 20.0)], 390.0, 0),
        ([("left", 20.0), ("right", 20.0)], 371.0, 2),
        ([("left", 25.0), ("right", 12.0), ("left", 20.0)], 385.0, None),
    ],
    ids=["to and fro", "beside", "a corner"],
)
def test_what_wobbled_is_straight_and_the_finish_stays(
    bends: list[tuple[str, float]], to_m: float, turns: int | None
) -> None:
    """Heights too; fewer pieces; and the bends that are left are those that the ends ask for."""
    text, day = wobbly(bends)
    told = read_as(edited(text, straight_changes(day, 300.0, to_m)), FEN)
    assert moved_m(day, told) < 0.05
    assert told.strip.height_m[-1] == pytest.approx(day.strip.height_m[-1], abs=0.01)
    assert len(told.course.pieces) <= len(day.course.pieces)
    behind = {mark.name: mark.at_m for mark in told.course.checkpoints}
    shift = told.strip.length_m - day.strip.length_m
    assert behind["fen path"] == pytest.approx(600 + shift, abs=0.02)
    between = [
        piece for piece in told.course.pieces[5:9] if piece.piece == "turn" and not piece.name
    ]
    assert turns is None or len(between) == turns


@pytest.mark.parametrize(
    ("file", "from_m", "to_m", "told"),
    [
        (FEN, 300.0, 400.0, "nothing bends"),
        (FEN, 300.0, 439.0, "both ends on straights"),
        (FERRY, 60.0, 450.0, "a lap begins or ends at 'hay meadow'"),
    ],
)
def test_what_cannot_be_straight_is_told(file: Path, from_m: float, to_m: float, told: str) -> None:
    """Ends on one straight, in a bend, or with the beginning of a lap between them."""
    with pytest.raises(BadInput, match=told):
        straight_changes(read(file), from_m, to_m)
