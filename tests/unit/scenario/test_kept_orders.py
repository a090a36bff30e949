"""A stretch is drawn straight, and what was told for a corner of it follows the corner, or is asked about."""

from __future__ import annotations

from pathlib import Path

import pytest

from simrun.scenario.in_text.kept_orders import OrdersLost
from simrun.scenario.in_text.toml_edit import edited
from simrun.scenario.in_text.written_straight import straight_changes
from simrun.scenario.reader import read_as
from simrun.scenario.scenario import Scenario
from tests.helpers.scenario_text import bent_fen

FEN = Path(__file__).parents[3] / "scenarios" / "brindle_fen.toml"


def fen(bends: list[tuple[str, str, float]], lines: str, places: str = "") -> tuple[str, Scenario]:
    """Brindle Fen with bends, orders and places."""
    text = bent_fen(bends, lines) + places
    return text, read_as(text, FEN)


TO_AND_FRO = [("alder bend", "left", 20.0), ("", "right", 40.0), ("", "left", 20.0)]


def test_orders_for_a_corner_that_goes_are_asked_about_and_dropped_in_one_step() -> None:
    """Nothing is changed before somebody says so; then the order goes, the others stay."""
    text, day = fen(TO_AND_FRO, '"alder bend" = "inside", "hedge gap" = "left"')
    with pytest.raises(OrdersLost) as asked:
        straight_changes(day, 300.0, 390.0)
    assert [(o.team, o.place, o.line) for o in asked.value.orders] == [
        ("Ellerfold", "alder bend", "inside")
    ]
    told = read_as(edited(text, straight_changes(day, 300.0, 390.0, drop_orders=True)), FEN)
    assert dict(told.teams[0].lines) == {"hedge gap": "left"}


def test_the_only_order_goes_with_its_table() -> None:
    """No empty table is left behind."""
    text, day = fen(TO_AND_FRO, '"alder bend" = "inside"')
    told = edited(text, straight_changes(day, 300.0, 390.0, drop_orders=True))
    assert "lines" not in told.split('name = "Ellerfold"')[1].split("[[")[0]


def test_a_corner_that_stays_keeps_its_name_and_what_is_told_for_it() -> None:
    """Three bends become one corner to the left: the sharper one of the two to that side."""
    bends = [("", "left", 20.0), ("", "right", 12.0), ("alder bend", "left", 25.0)]
    text, day = fen(bends, '"alder bend" = "outside"')
    told = read_as(edited(text, straight_changes(day, 300.0, 385.0)), FEN)
    assert dict(told.teams[0].lines) == {"alder bend": "outside"}
    left = [p for p in told.course.pieces if p.name == "alder bend"]
    assert [(p.piece, p.side) for p in left] == [("turn", "left")]


def test_an_order_for_a_numbered_turn_follows_its_corner() -> None:
    """Turns without a name are numbered: with two bends less before it, the fourth is the second."""
    bends = [("", "left", 20.0), ("", "right", 40.0), ("", "left", 20.0), ("", "left", 30.0)]
    text, day = fen(bends, '"turn 5" = "inside"')
    before = next(gate for gate in day.strip.gates if gate.name == "turn 5")
    told = read_as(edited(text, straight_changes(day, 300.0, 390.0)), FEN)
    (name,) = told.teams[0].lines
    after = next(gate for gate in told.strip.gates if gate.name == name)
    assert name != "turn 5"
    ways = [day.strip.middle_m[before.first_cut], told.strip.middle_m[after.first_cut]]
    assert abs(ways[0] - ways[1]).max() < 0.1


def test_what_is_said_of_a_place_stays_with_it() -> None:
    """Of a corner that goes by its metres; further on by as many metres less; before it as it was."""
    said = [("alder bend", "see"), (100.0, "see"), (600.0, "see")]
    places = "".join(
        f"\n[[places]]\nat = {at if isinstance(at, float) else repr(at)}\n{key} = 'a tree'\n"
        for at, key in said
    )
    text, day = fen(TO_AND_FRO, '"hedge gap" = "left"', places)
    told = read_as(edited(text, straight_changes(day, 300.0, 390.0)), FEN)
    shift = told.strip.length_m - day.strip.length_m
    old = float(
        day.strip.station_m[next(g.first_cut for g in day.strip.gates if g.name == "alder bend")]
    )
    first, before, behind = (place.at for place in told.places[-3:])
    assert first == pytest.approx(old + shift * (old - 300) / 90, abs=0.02)
    assert (before, behind) == (100.0, pytest.approx(600 + shift, abs=0.02))
