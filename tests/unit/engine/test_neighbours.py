"""The cell list and the look over it find whom a plain search finds, each once."""

from __future__ import annotations

import numpy as np
import pytest

from simrun.answers.evidence.experiments.arena import crowd_of, crowd_race, ground, straight
from simrun.engine.kernel.look import BEHIND_M, LOOK_ASIDE_M, LOOK_M, gather
from simrun.engine.kernel.neighbours import CLOSE_M, close_pairs, sort_bodies
from simrun.engine.run import Race
from simrun.runners.body import LARGEST_DEVIATION, shoulders_m

WIDE_M = 20.0
CROWDS = [(150, 30.0, seed) for seed in range(5)] + [(8, 3.0, seed) for seed in range(20)]
"""Runners, metres, seed. Among eight, rows share the few buckets there are: strangers must be told apart."""


def scattered(count: int, long_m: float, seed: int) -> Race:
    """A crowd anywhere on a straight, facing anywhere, some of it already gone."""
    rng = np.random.default_rng(seed)
    half = min(WIDE_M / 2, long_m)
    stand = rng.uniform([0.0, -half], [long_m, half], (count, 2))
    # Some stand on the very edges of squares.
    stand[::7] = np.round(stand[::7] / 1.5) * 1.5
    race = crowd_race(
        ground([straight(60.0, WIDE_M)], [50.0], 60.0), crowd_of("runner", 5.0), stand
    )
    angle = rng.uniform(0.0, 2 * np.pi, count)
    race.bodies["heading_x"], race.bodies["heading_y"] = np.cos(angle), np.sin(angle)
    race.bodies["gone"][::11] = 1
    return race


@pytest.mark.parametrize(("count", "long_m", "seed"), CROWDS)
def test_everybody_minded_is_found_once(count: int, long_m: float, seed: int) -> None:
    """Ahead of and beside each, in whatever direction: the list gives what a plain search gives."""
    race = scattered(count, long_m, seed)
    bodies, scratch = race.bodies, race.scratch
    sort_bodies(bodies, race.ground, scratch.begins, scratch.seen)
    for turn, i in enumerate(np.flatnonzero(bodies["gone"] == 0)):
        to_x, to_y = float(bodies["heading_x"][i]), float(bodies["heading_y"][i])
        behind = (BEHIND_M, race.settings.bend_beside_behind_m)[turn % 2]
        met = gather(int(i), bodies[i], to_x, to_y, behind, race.ground, scratch)
        dx, dy = bodies["x"] - bodies["x"][i], bodies["y"] - bodies["y"][i]
        ahead, aside = dx * to_x + dy * to_y, dx * to_y - dy * to_x
        minded = (dx * dx + dy * dy <= LOOK_M**2) & (ahead >= -behind)
        minded &= (np.abs(aside) <= LOOK_ASIDE_M) & (bodies["gone"] == 0)
        minded[i] = False
        np.testing.assert_array_equal(np.sort(scratch.near["ahead"][:met]), np.sort(ahead[minded]))


@pytest.mark.parametrize(("count", "long_m", "seed"), CROWDS)
def test_every_close_pair_is_found_once(count: int, long_m: float, seed: int) -> None:
    """All who may touch within the step, each pair once, also across the edges of squares."""
    race = scattered(count, long_m, seed)
    bodies, scratch = race.bodies, race.scratch
    total = sort_bodies(bodies, race.ground, scratch.begins, scratch.seen)
    met = close_pairs(scratch.begins, scratch.seen, total, scratch.pairs)
    found = sorted(tuple(sorted(pair)) for pair in scratch.pairs[:met].tolist())
    place = np.stack([bodies["x"], bodies["y"]], axis=1)
    apart2 = ((place[:, None] - place[None]) ** 2).sum(axis=2)
    here = bodies["gone"] == 0
    close = np.triu((apart2 < CLOSE_M**2) & here & here[:, None], k=1)
    assert found == [tuple(pair) for pair in np.argwhere(close).tolist()]


def test_there_is_room_for_the_pairs_of_the_densest_crowd() -> None:
    """The narrowest women the draw allows, packed like coins and squeezed as allowed: none is lost."""
    mean_m, sd_m = shoulders_m("women")
    apart = 0.95 * (mean_m - LARGEST_DEVIATION * sd_m)
    rows, columns = np.divmod(np.arange(900), 30)
    packed = np.stack(
        [5.0 + apart * (columns + 0.5 * (rows % 2)), apart * (0.866 * rows - 13.0)], axis=1
    )
    race = crowd_race(
        ground([straight(60.0, WIDE_M)], [50.0], 60.0), crowd_of("runner", 5.0), packed
    )
    total = sort_bodies(race.bodies, race.ground, race.scratch.begins, race.scratch.seen)
    met = close_pairs(race.scratch.begins, race.scratch.seen, total, race.scratch.pairs)
    close = np.triu(((packed[:, None] - packed[None]) ** 2).sum(axis=2) < CLOSE_M**2, k=1)
    assert met == close.sum() > 16 * len(packed)
