"""Passes, wished passes and traffic by hand-made times; stretches and notes of small courses."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import simrun
from simrun.answers.card.words import GO_OUT, sentence_of, told
from simrun.measure.passing import CHOOSE, MOVE, SETTLED, SIT, UNTOLD, Passing, passing
from simrun.measure.stretches import Stretch, at_most, hills, stretches

TOP = Path(__file__).parents[3]


def test_two_who_would_pass_and_one_who_does() -> None:
    """Three come in 1 s apart; alone the last two would come out before the first, one of them does.

    By hand: wished (2 past 1, 3 past 1, 3 past 2), made (3 past 1, 3 past 2).
    """
    entry, alone = np.array([0.0, 1.0, 2.0]), np.array([50.0, 48.5, 45.0])
    out = np.array([50.0, 50.5, 49.0])
    found = passing([(entry, out, alone)] * 20, 200.0)
    assert (found.wished[0], found.made[0], found.passes[0]) == (3, 2, 2)
    assert found.open_share == pytest.approx(2 / 3)
    assert found.passes_per_100_m == pytest.approx(2 / 3 / 2)
    assert found.mean_traffic_s == pytest.approx((0 + 1.0 + 2.0) / 3)
    assert found.middle_m_s == pytest.approx(200 / 49.5)


def test_who_does_not_arrive_is_left_out_and_few_wishes_give_no_share() -> None:
    entry = np.array([0.0, 1.0, np.nan])
    found = passing([(entry, entry + np.array([10, 8, 1]), np.full(3, 8.0))], 50.0)
    assert found.runners[0] == 2
    assert np.isnan(found.open_share)


def test_the_stretches_of_every_shipped_course_follow_one_another() -> None:
    """From the gun to the finish without a hole; the second lap's are numbered."""
    for path in sorted((TOP / "scenarios").glob("*.toml")):
        strip = simrun.read(path).strip
        found = stretches(strip)
        ends = [0.0] + [stretch.to_m for stretch in found]
        np.testing.assert_allclose([stretch.from_m for stretch in found], ends[:-1])
        assert ends[-1] == pytest.approx(strip.length_m)
        assert max(stretch.length_m for stretch in found) <= 330
    names = [
        (s.name, s.lap) for s in stretches(simrun.read(TOP / "scenarios/ferry_meadow.toml").strip)
    ]
    assert ("boardwalk", 1) in names
    assert ("boardwalk", 2) in names


def test_the_likest_neighbours_are_told_as_one_until_there_are_few_enough() -> None:
    """Six of 100 m; the worth of each by hand: d and e differ least, then c and them; the first is let be."""
    worth = dict(zip("abcdef", (0.0, 0.0, 0.5, 0.9, 0.9, 0.1), strict=True))
    found = tuple(
        Stretch(f"{n} (1 of 2)", 100 * k, 100 * k + 100, 9 - k, 1) for k, n in enumerate(worth)
    )
    fewer = at_most(found, 4, lambda one, other: abs(worth[one.name[0]] - worth[other.name[0]]))
    assert [(s.name, s.from_m, s.to_m) for s in fewer] == [
        ("a (1 of 2)", 0, 100),
        ("b (1 of 2)", 100, 200),
        ("c to e", 200, 500),
        ("f (1 of 2)", 500, 600),
    ]
    assert (fewer[2].width_m, fewer[2].climb_m) == (5, 3)
    assert at_most(found, 6, lambda one, other: 0.0) == found


def figures(wished: float, made: float, traffic_s: float = 0.0) -> Passing:
    """200 runners over 100 m in two races."""
    two = np.ones(2)
    return Passing(
        100.0, 200 * two, wished * two, made * two, made * two, traffic_s * two, 25 * two
    )


@pytest.mark.parametrize(
    ("passing_", "word"),
    [
        (figures(400, 60), SIT),
        (figures(400, 200), CHOOSE),
        (figures(400, 320), MOVE),
        (figures(4, 4), SETTLED),
        (Passing(100, *np.array([[20.0], [9], [4], [4], [0], [25]])), UNTOLD),
    ],
)
def test_the_word_follows_the_figures(passing_: Passing, word: str) -> None:
    found = (Stretch("field", 0, 100), Stretch("path", 100, 200))
    rows = told(found, [figures(0, 0), passing_], "metric")
    assert [row.word for row in rows] == [GO_OUT, word]


def test_a_closed_stretch_is_told_before_it_comes_and_after_it_opens() -> None:
    found = tuple(
        Stretch(n, 100 * k, 100 * k + 100) for k, n in enumerate(["field", "boardwalk", "bank"])
    )
    closed = [figures(0, 0), figures(400, 40, 3.0), figures(400, 360)]
    first, second, third = (row.note for row in told(found, closed, "metric"))
    assert "before the boardwalk" in first
    assert second == "Sit: about 1 in 10 faster runners get by. Traffic costs 3.0 s."
    assert third == "Move after the boardwalk: about 9 in 10 faster runners get by."
    opened = [figures(0, 0), figures(400, 360), figures(400, 360)]
    assert not any("boardwalk" in row.note for row in told(found, opened, "metric"))


def test_the_headline_names_where_to_move_and_where_to_sit() -> None:
    """The open and the closed stretch; a lap only where another lap says otherwise; else that none does."""
    names = ["field", "boardwalk", "bank, lane", "boardwalk", "bank, lane"]
    found = tuple(Stretch(n, 100 * k, 100 * k + 100, lap=1 + k // 3) for k, n in enumerate(names))
    passings = [figures(0, 0), *[figures(400, made) for made in (40, 320, 60, 200)]]
    said = sentence_of(told(found, passings, "metric"))
    assert said == "Move up on the bank and lane (lap 1); sit through the boardwalk."
    middling = [figures(0, 0), *[figures(400, 200)] * 4]
    assert sentence_of(told(found, middling, "metric")).startswith("No stretch stands out")


def test_the_headline_names_three_at_most_in_the_order_of_the_race() -> None:
    """Five open stretches: the three most open."""
    found = tuple(Stretch(n, 100 * k, 100 * k + 100) for k, n in enumerate("abcdef"))
    passings = [figures(0, 0), *[figures(400, made) for made in (300, 390, 290, 380, 370)]]
    assert sentence_of(told(found, passings, "metric")) == "Move up on the c, the e and the f."


def test_the_bank_of_the_farm_race_is_climbed_once_and_dropped_once() -> None:
    """By its file: 5 m up on 40 m of flood bank, 5 m down on 60 m of bank top; the second lap is the same."""
    day = simrun.read(TOP / "scenarios" / "ferry_meadow.toml")
    up, down = hills(day.strip)
    assert (up.climb_m, down.climb_m) == (pytest.approx(5.0), pytest.approx(-5.0))
    assert (up.to_m - up.from_m, down.to_m - down.from_m) == (
        pytest.approx(40.0, abs=0.5),
        pytest.approx(60.0, abs=0.5),
    )
    assert up.to_m == down.from_m
    names = day.strip.section_names
    on = [names[day.strip.section[hill.first_cut]] for hill in (up, down)]
    assert on == ["flood bank", "bank top"]
    assert hills(simrun.read(TOP / "scenarios" / "dual_meet.toml").strip) == ()
