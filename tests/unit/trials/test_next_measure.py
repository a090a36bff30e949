"""What is worth measuring: in a world made by hand, where one count tells the answer and no other."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from simrun.scenario.reader import read
from simrun.sources.assumed import DECIDES, INSIDE
from simrun.trials.learning.lesson import Source, figures_in
from simrun.trials.learning.next_measure import LINE, Worth, answers_in, candidates, worths
from simrun.trials.learning.seen_races import Table, Watched, watched_day
from simrun.trials.learning.sightings import THIRDS, Sighting

SCENARIOS = Path(__file__).parents[3] / "scenarios"
RUNNERS, RACES = 60, 200
APEX = "mill corner, apex"


@pytest.fixture(scope="module")
def watched() -> Watched:
    return watched_day(read(SCENARIOS / "dual_meet.toml"), 1000.0)


def race(watched: Watched, rng: np.random.Generator, inside: float) -> Any:
    """The share on the inside is the input; there it takes 4 s times that share longer than outside."""
    marks, at = len(watched.marks), watched.mark(APEX)
    takes = rng.random(RUNNERS) < inside
    crossing = 10.0 * np.arange(1, marks + 1) + 3.0 * rng.standard_normal((RUNNERS, 1))
    crossing[:, at:] += 0.5 * rng.standard_normal((RUNNERS, 1))
    crossing[takes, at + 1 :] += 4.0 * inside
    off = np.where(takes, 0.1, 0.9)
    across = np.tile(off if watched.is_left_inside(APEX) else 1.0 - off, (marks, 1)).T
    line, box = np.where(takes, "inside", "outside"), rng.integers(1, 9, RUNNERS)
    return SimpleNamespace(crossing_s=crossing, across=across, line=line, box=box)


@pytest.fixture(scope="module")
def table(watched: Watched) -> Table:
    rng = np.random.default_rng(1)
    inputs = rng.random((RACES, len(DECIDES)))
    at = DECIDES.index(INSIDE)
    races = tuple(race(watched, rng, 0.2 + 0.6 * row[at]) for row in inputs)
    return Table(watched, races, DECIDES, inputs)


def of_line(found: list[Worth]) -> list[Worth]:
    return [worth for worth in found if worth.answer == LINE]


def test_the_answer_is_that_of_the_races(table: Table) -> None:
    """Seconds inside more than outside: 4 times the share."""
    shares = 0.2 + 0.6 * table.inputs[:, DECIDES.index(INSIDE)]
    off = answers_in(table)[LINE] - 4.0 * shares
    assert off.mean() == pytest.approx(0.0, abs=0.05)


def test_the_count_that_tells_the_answer_comes_first_and_narrows_it_most(table: Table) -> None:
    """20 runners tell a share drawn over 0.173 to sqrt(0.22 / 20) / 0.93, miscounts too: 0.55 is left."""
    first, *others = of_line(worths(table, [], []))
    assert (first.sighting.kind, first.sighting.place) == (THIRDS, (APEX,))
    assert first.now_s == pytest.approx(4.0 * 0.6 / 12**0.5, rel=0.15)
    assert first.then_s == pytest.approx(0.55 * first.now_s, rel=0.15)
    assert all(other.then_s > first.then_s for other in others)


@pytest.mark.slow
def test_what_was_seen_is_not_proposed_again_and_leaves_less_to_learn(
    watched: Watched, table: Table
) -> None:
    thirds = Source("thirds", (Sighting(THIRDS, (APEX,), (20.0, 0.0, 0.0)),))
    names = [each.name for each in candidates(watched, [thirds])]
    assert thirds.sightings[0].name not in names
    assert len(names) == len(set(names)) == len(list(candidates(watched, []))) - 1
    used = figures_in(table, table.races, [thirds])
    before, after = of_line(worths(table, [], [])), of_line(worths(table, [thirds], used))
    assert after[0].now_s == pytest.approx(before[0].then_s, rel=0.02)
    assert after[0].then_s > 0.8 * after[0].now_s


@pytest.mark.slow
def test_an_answer_that_hangs_on_no_input_is_not_spoken_of(table: Table) -> None:
    """Placebo: the same races with the inputs of others."""
    mixed = np.random.default_rng(2).permutation(table.inputs)
    assert worths(Table(table.watched, table.races, table.keys, mixed), [], []) == []
