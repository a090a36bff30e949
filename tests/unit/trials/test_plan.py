"""Arms by seeds: digests, order, pairing, mistakes."""

from __future__ import annotations

import itertools
import shutil
from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.state import engine_digest as engine_module
from simrun.state.engine_digest import engine_digest
from simrun.trials.plan import Plan, digest_of

DUAL = Path(__file__).parents[3] / "scenarios" / "dual_meet.toml"


@pytest.fixture(scope="module")
def dual() -> Scenario:
    return read(DUAL)


def test_the_digest_follows_what_is_said_and_not_where_it_lies(
    dual: Scenario, tmp_path: Path
) -> None:
    """A copy elsewhere is the same arm; one changed number, or whom we watch, is another."""
    shutil.copy(DUAL, tmp_path / "other name.toml")
    assert digest_of(read(tmp_path / "other name.toml")) == digest_of(dual)
    assert digest_of(dual.changed({"field.opening": 0.11})) != digest_of(dual)
    assert digest_of(dual, dual.teams[0].name) != digest_of(dual)


def test_the_digest_ignores_in_which_order_changes_were_made(dual: Scenario) -> None:
    """Tables keep the order in which keys were set; an arm is the same all the same."""
    changes = {"start.gun": "left", "start.draw": "list", "field.pull": [0.2, 0.9]}
    found = {
        digest_of(dual.changed(dict(order))) for order in itertools.permutations(changes.items())
    }
    assert len(found) == 1


def test_all_arms_of_a_seed_come_before_the_next_seed(dual: Scenario) -> None:
    """So that a study stopped half-way is paired; arms that say the same are one."""
    plan = Plan({"a": dual, "b": dual.changed({"clock.limit": 30}), "c": read(DUAL)}, (5, 3))
    a, b = plan.digests["a"], plan.digests["b"]
    assert plan.digests["c"] == a
    assert list(plan.races()) == [(a, 5), (b, 5), (a, 3), (b, 3)]
    assert len(plan) == 4


def test_every_arm_meets_the_same_people(dual: Scenario) -> None:
    """Ability, reactions, bodies and chances of a seed, whatever the tactics."""
    arms = [dual, dual.changed({"field.opening": 0.3, "teams.Millbrook.line": "outside"})]
    first, second = (arm.roster(4) for arm in arms)
    for column in ("cruise_m_s", "reaction_s", "radius_m", "wander", "throat_share"):
        np.testing.assert_array_equal(getattr(first, column), getattr(second, column))
    assert not np.array_equal(first.opening, second.opening)


@pytest.mark.parametrize("seeds", [(), (1, 1), (-1, 2)])
def test_seeds_that_make_no_sense(dual: Scenario, seeds: tuple[int, ...]) -> None:
    """One line."""
    with pytest.raises(BadInput, match="different whole numbers from 0"):
        Plan({"a": dual}, seeds)


def test_no_arm_and_a_strange_team(dual: Scenario) -> None:
    """One line, with the nearest name."""
    with pytest.raises(BadInput, match="at least one arm"):
        Plan({}, (1,))
    with pytest.raises(BadInput, match="did you mean 'Millbrook'"):
        Plan({"a": dual}, (1,), watched="Milbrook")


def test_an_edited_law_is_another_engine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Races of before the edit are not mixed with those after; an edited picture changes nothing."""
    package = Path(engine_module.__file__).parents[1]
    copy = tmp_path / "simrun"
    shutil.copytree(package, copy, ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(engine_module, "__file__", str(copy / "state" / "engine_digest.py"))
    before = engine_digest()
    picture = copy / "pictures" / "film" / "gif.py"
    picture.write_text(picture.read_text("utf-8") + "\n# a word more\n", "utf-8")
    assert engine_digest() == before
    law = copy / "laws" / "bend.py"
    law.write_text(law.read_text("utf-8") + "\n# a word more\n", "utf-8")
    assert engine_digest() != before
