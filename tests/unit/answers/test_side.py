"""Sides of a narrowing: which is good, who passes where, what crossing costs; the placebo costs nothing."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from simrun.answers.side.run import run_side
from simrun.answers.side.side_arms import (
    CROSS,
    KEEP,
    OTHER,
    arms_of,
    late_marks,
    own_side,
    places_of,
    timed,
)
from simrun.answers.side.side_found import SideFound, where_table
from simrun.base.errors import BadInput
from simrun.scenario.reader import read
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.plan import Plan

SCENARIOS = Path(__file__).parents[3] / "scenarios"
FERRY = read(SCENARIOS / "ferry_meadow.toml")
DUAL = read(SCENARIOS / "dual_meet.toml")


def test_the_good_side_is_the_inside_of_the_turn_behind() -> None:
    """Left before the barn corner, right before the mill; as told, where it is told."""
    assert places_of(FERRY).good == "left"
    assert places_of(DUAL).good == "right"
    assert places_of(FERRY, "right").good == "right"
    assert places_of(FERRY).narrowing.name == "headland"
    assert own_side(FERRY, "Alderbrook") == "right"


def test_without_a_narrowing_there_is_no_side() -> None:
    pieces = [{"piece": "straight", "name": "field", "length": 300, "width": 60}]
    day = FERRY.changed(
        {
            "course": {"pieces": pieces, "checkpoints": [{"name": "end", "at": 290}]},
            "teams.Alderbrook.line": None,
        }
    )
    with pytest.raises(BadInput, match="a narrowing or gap before the first turn"):
        places_of(day)


def test_every_arm_is_another_race() -> None:
    """Each way of ours differs from every other; those of the others are the same in all but the drawn."""
    day = timed(FERRY, places_of(FERRY))
    arms = arms_of(day, "Alderbrook", places_of(FERRY))
    assert {"cross", "keep", "inside", "outside", "wide in and cut back after"} <= arms.keys()
    late = [arm for arm in arms if arm.startswith("cross after")]
    assert len(late) == len(late_marks(places_of(FERRY)))
    columns = ("inside_m", "entry_m", "exit_m", "keeps")
    seen = set()
    for name, arm in arms.items():
        roster = arm.roster(1)
        ours = roster.team == "Alderbrook"
        if name in ("drawn again", "as on paper", "inside"):
            continue
        seen.add(b"".join(getattr(roster, column)[ours].tobytes() for column in columns))
        plain = day.roster(1)
        assert (roster.inside_m[~ours] == plain.inside_m[~ours]).all()
    assert len(seen) == len(arms) - 3


@pytest.fixture(scope="module")
def crossed(tmp_path_factory: pytest.TempPathFactory) -> SideFound:
    """Two races of the dual meet with ours told to cross, to keep, and the placebo: to keep once more."""
    places = places_of(DUAL, OTHER[own_side(DUAL, "Millbrook")])
    day = timed(DUAL, places)
    arms = arms_of(day, "Millbrook", places)
    arms = {name: arms[name] for name in (CROSS, KEEP)} | {"keep once more": arms[KEEP]}
    plan = Plan(arms, (1, 2, 3, 4), at_marks=True)
    store = carry_out(plan, tmp_path_factory.mktemp("side") / "races.db", workers=1)
    outcomes = {arm: tuple(outcomes_of(plan, arm, store)) for arm in arms}
    return SideFound(day, "Millbrook", places, outcomes, plan.seeds)


def test_who_is_told_to_cross_crosses(crossed: SideFound) -> None:
    """Nearly all of ours pass on the told side, and next to none of them when told to keep."""
    assert crossed.our_share(CROSS).mean > 0.8
    assert crossed.our_share(KEEP).mean < 0.2


def test_the_same_order_costs_nothing(crossed: SideFound) -> None:
    """The placebo: not a hundredth of a second, not a place, in any race."""
    seconds, places = crossed.cost("keep once more", KEEP)
    assert (seconds.low, seconds.high) == (0.0, 0.0)
    assert (places.low, places.high) == (0.0, 0.0)
    other, _ = crossed.cost(CROSS, KEEP)
    assert other.mean != 0.0


def test_the_last_place_is_the_last_that_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    """By hand: 10, 8, 5, 3 and 9 of ten get over: the third, since from the fourth on it no longer holds."""
    places = places_of(FERRY)
    marks = late_marks(places)
    outcomes = {f"cross after {mark}": () for mark in marks}
    found = SideFound(FERRY, "Alderbrook", places, outcomes, (1, 2, 3, 4))
    shares = dict(zip(outcomes, (1.0, 0.8, 0.5, 0.3, 0.9, 0.0), strict=True))
    nothing = found.judge(np.zeros(4))
    monkeypatch.setattr(
        SideFound, "our_share", lambda self, arm: self.judge(np.full(4, shares[arm]))
    )
    monkeypatch.setattr(SideFound, "cost", lambda self, arm, against: (nothing, nothing))
    assert found.last_place is not None
    assert found.last_place.name == marks[2]
    assert where_table(found).gets_over.tolist() == list(shares.values())


def test_an_unknown_team_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="did you mean 'Millbrook'"):
        run_side(DUAL, tmp_path, (1,), team="Milbrook")


@pytest.mark.parametrize(("good", "share"), [("left", 0.25), ("right", 0.75)])
def test_left_of_the_middle_is_left(good: str, share: float) -> None:
    """By hand: of four of ours one passes left of the middle; a fifth did not come so far."""
    day = FERRY.changed({"teams.Alderbrook.runners": 5})
    places = places_of(day, good)
    day = timed(day, places)
    names = [team.name for team in day.teams]
    count, marks = day.runners, len(day.strip.checkpoints)
    across = np.full((count, marks), 0.9)
    team_index = np.repeat(np.arange(len(names)), [team.runners for team in day.teams])
    ours = np.flatnonzero(team_index == names.index("Alderbrook"))
    across[ours[0]], across[ours[4]] = 0.49, np.nan
    outcome = SimpleNamespace(team_index=team_index, across=across)
    found = SideFound(day, "Alderbrook", places, {CROSS: (outcome, outcome)}, (1, 2))  # type: ignore[dict-item]
    assert found.our_share(CROSS).mean == share
