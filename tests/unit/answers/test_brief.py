"""What is raced for a brief: arms that differ by one thing, seeds by the metres, two plans of one people."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.answers.tactic.orders import PEOPLE_SEED
from simrun.answers.whole.brief.arms import (
    CALMER,
    ELSEWHERE,
    HARDER,
    RIVALS_CALMER,
    RIVALS_HARDER,
    SIDES,
    STEP,
    TOLD,
    arms_of,
    questions_of,
)
from simrun.answers.whole.brief.run import FEWEST, MOST, affordable, seeds_in
from simrun.answers.whole.brief.two_plans import two_plans
from simrun.base.errors import BadInput
from simrun.engine.entering import goes_out
from simrun.scenario.changes.changes_people import with_team_placed
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.trials.plan import digest_of

SCENARIOS = Path(__file__).parents[3] / "scenarios"


@pytest.fixture(scope="module")
def fen() -> Scenario:
    return read(SCENARIOS / "brindle_fen.toml")


@pytest.fixture(scope="module")
def arms(fen: Scenario) -> dict[str, Scenario]:
    return arms_of(fen)


def test_every_arm_is_another_race_and_changes_one_thing(arms: dict[str, Scenario]) -> None:
    """With an entry list and a box sheet: ten digests; people, times and bodies the same in all of them."""
    assert len({digest_of(arm) for arm in arms.values()}) == len(arms) == 10
    first = arms[TOLD].roster(3)
    ours = first.team == "Ellerfold"
    for name, arm in arms.items():
        roster = arm.roster(3)
        assert roster.name == first.name
        np.testing.assert_array_equal(roster.cruise_m_s, first.cruise_m_s)
        np.testing.assert_array_equal(roster.radius_m, first.radius_m)
        same_box = np.array_equal(roster.box, first.box)
        assert same_box == (name != ELSEWHERE)
        moved = roster.opening - first.opening
        rivals = {RIVALS_HARDER: STEP, RIVALS_CALMER: -STEP}.get(name, 0.0)
        free = ~ours & (first.opening > 0)
        clipped = np.clip(first.opening[free] + rivals, 0.0, 0.4)
        np.testing.assert_allclose(roster.opening[free], clipped, atol=1e-12)
        if name in (HARDER, CALMER):
            by = {HARDER: STEP, CALMER: -STEP}[name]
            now = arms[TOLD].roster(PEOPLE_SEED)
            pulled = goes_out(now)[now.team == "Ellerfold"]
            np.testing.assert_allclose(
                roster.opening[ours], np.minimum(pulled + by, 0.4), atol=1e-6
            )
            assert not roster.drawn[ours].any()
        elif name in SIDES:
            assert not moved[ours].any()
            assert (roster.choice[ours] == name).any(axis=1).all()


def test_who_is_told_nothing_goes_out_as_the_front_draws_them(arms: dict[str, Scenario]) -> None:
    """By hand: own + drawn (front - own) over race pace, front the mean of the fastest twentieth (4 of 81).

    Who is told an opening, or is of the front, goes out as told.
    """
    roster = arms[TOLD].roster(4)
    own = roster.cruise_m_s * (1 + roster.opening)
    fastest = np.argsort(roster.cruise_m_s)[-4:]
    front = own[fastest].mean()
    share = goes_out(roster)
    slow = int(np.argmin(own))
    expected = (own[slow] + roster.drawn[slow] * (front - own[slow])) / roster.cruise_m_s[slow] - 1
    assert share[slow] == pytest.approx(expected)
    assert share[slow] > roster.opening[slow] + 0.02
    ahead = own >= front
    np.testing.assert_allclose(share[ahead], roster.opening[ahead])
    told = arms[HARDER].roster(4)
    ours = told.team == "Ellerfold"
    np.testing.assert_allclose(goes_out(told)[ours], told.opening[ours])


def test_what_is_told_already_is_no_arm(fen: Scenario) -> None:
    """Told the inside, the inside is no other plan; nothing slower than race pace is told."""
    day = fen.changed({"teams.Ellerfold.line": "inside", "teams.Ellerfold.opening": 0.0})
    arms = arms_of(day)
    assert "inside" not in arms
    assert CALMER not in arms
    asked = questions_of(arms)
    assert {q.arm for q in asked} <= set(arms)
    undrawn = fen.changed({"start.box_sheet": None, "start.draw": "seed"})
    assert ELSEWHERE not in arms_of(undrawn)


def test_more_minutes_are_more_races_and_long_races_are_fewer(arms: dict[str, Scenario]) -> None:
    """Whole pairs of seeds from 1 on, never fewer than two pairs; the longer study begins as the shorter."""
    one, two = seeds_in(arms, 1.0), seeds_in(arms, 2.0)
    assert two[: len(one)] == one == tuple(range(1, len(one) + 1))
    assert len(one) % 2 == 0
    assert 1.8 < len(two) / len(one) < 2.2
    assert len(seeds_in(arms, 0.01)) == FEWEST == 10
    assert len(seeds_in(arms, 1440)) == MOST


def test_a_short_time_asks_less_and_the_box_first(arms: dict[str, Scenario]) -> None:
    """From the last question back; the box and the day as told are never left out."""
    counts = [len(affordable(arms, minutes)) for minutes in (1.0, 0.3, 0.2, 0.1, 0.01)]
    assert counts == sorted(counts, reverse=True)
    assert counts[0] == 10
    assert list(affordable(arms, 0.01)) == [TOLD, ELSEWHERE]
    assert RIVALS_HARDER not in affordable(arms, 0.2)


def test_two_plans_are_of_the_same_people(fen: Scenario) -> None:
    """Other people, boxes or ground are refused by name; another plan is not."""
    other = fen.changed({"teams.Ellerfold.opening": 0.2})
    assert list(two_plans(fen, other)) == [TOLD, "the second plan"]
    for day, words in (
        (fen.changed({"course.pieces.drove.length": 96}), "course: another ground"),
        (fen.changed({"field.body": "men"}), "bodies: "),
        (with_team_placed(fen, "Ellerfold", 3, "shortest"), "boxes: .*: 3 and not 11"),
        (
            fen.changed({"field.seed_times": None, "start.box_sheet": None, "start.draw": "seed"}),
            "who runs",
        ),
    ):
        with pytest.raises(BadInput, match=words):
            two_plans(fen, day)
