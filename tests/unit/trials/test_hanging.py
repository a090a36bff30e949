"""Do the shares of variance of known answers come out, and do the rows differ in what they should?"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import pytest

from simrun.scenario.tables.schema_inputs import Inputs
from simrun.sources.assumed import DECIDES, INSIDE, PULL, assumed_inputs
from simrun.trials.hanging.input_groups import GROUPS
from simrun.trials.hanging.radial_design import BASE, NUDGE, NUDGED, OTHER, groups_of, row_of
from simrun.trials.hanging.total_effects import Effect, effects_of

BODY = "runner.body_radius_m"


def unit(point: Mapping[str, float], key: str) -> float:
    """Where in its range is an input, from -1 to 1?"""
    figure = assumed_inputs()[key]
    return 2 * (point[key] - figure.low) / (figure.high - figure.low) - 1


def shares(answer: Callable[[Mapping[str, float], int], float], rows: int) -> dict[str, Effect]:
    found = []
    for number in range(1, rows + 1):
        row = row_of(Inputs(), number)
        found.append({name: answer(point, row.seed) for name, point in row.points.items()})
    return {effect.name: effect for effect in effects_of(found)}


def test_every_input_is_in_one_group() -> None:
    keys = [key for group in GROUPS.values() for key in group]
    assert sorted(keys) == sorted(DECIDES)


def test_a_row_differs_from_its_base_in_one_group_only() -> None:
    row = row_of(Inputs(), 3)
    base, other = row.points[BASE], row.points[OTHER]
    assert all(base[key] != other[key] for key in DECIDES)
    for name, keys in GROUPS.items():
        moved = {key for key in DECIDES if row.points[name][key] != base[key]}
        assert moved == set(keys)
        assert all(row.points[name][key] == other[key] for key in keys)


def test_the_nudge_is_next_to_nothing_and_stays_within_the_ranges() -> None:
    for number in range(1, 9):
        row = row_of(Inputs(), number)
        for key, figure in assumed_inputs().items():
            moved = row.points[NUDGED][key] - row.points[BASE][key]
            assert abs(moved) == pytest.approx(NUDGE * (figure.high - figure.low))
            assert figure.holds(row.points[NUDGED][key])


def test_what_is_told_is_not_moved_and_a_range_is_kept() -> None:
    inputs = Inputs({INSIDE: 0.5}, {PULL: (0.4, 0.5)})
    assert "inside" not in groups_of(inputs)
    points = [point for n in range(1, 20) for point in row_of(inputs, n).points.values()]
    assert all(INSIDE not in point and 0.4 <= point[PULL] <= 0.5 for point in points)


def test_shares_of_a_known_answer() -> None:
    """3 x + y + 2 x z, even from -1 to 1: variances 3, 1/3, 4/9 of 34/9, the last shared by x and z.

    Within three standard errors of 512 rows (0.028 for the largest total, over 150 other scramblings).
    """

    def answer(point: Mapping[str, float], seed: int) -> float:
        x, y, z = (unit(point, key) for key in (INSIDE, PULL, "runner.sway_m"))
        return 3 * x + y + 2 * x * z

    found = shares(answer, 512)
    assert [found[n].total for n in ("inside", "heading", "room")] == pytest.approx(
        [31 / 34, 3 / 34, 4 / 34], abs=0.085
    )
    assert [found[n].alone for n in ("inside", "heading", "room")] == pytest.approx(
        [27 / 34, 3 / 34, 0.0], abs=0.085
    )
    assert [found[n].total for n in ("bodies", "following", "rest")] == pytest.approx(
        [0.0] * 3, abs=1e-5
    )
    assert next(iter(found)) == "inside"


def test_chance_that_adds_up_is_in_no_share() -> None:
    """A race day's luck, ten times as large as the inputs, leaves every share to the last digits."""
    luck = np.random.default_rng(1).normal(0, 10, 64)

    def plain(point: Mapping[str, float], seed: int) -> float:
        return 3 * unit(point, INSIDE) + unit(point, PULL)

    def lucky(point: Mapping[str, float], seed: int) -> float:
        return plain(point, seed) + float(luck[seed - 1])

    calm, mixed = shares(plain, 32), shares(lucky, 32)
    assert all(mixed[n].total == pytest.approx(calm[n].total, abs=1e-9) for n in calm)


def chaotic(rng: np.random.Generator, rows: int, noise: float) -> list[dict[str, float]]:
    """x + y and a third that does nothing, with chance of its own at every point: so many rows."""
    found = []
    for (ax, ay), (bx, by) in rng.uniform(-1, 1, (rows, 2, 2)):
        plain = {BASE: ax + ay, OTHER: bx + by, NUDGED: ax + ay}
        plain |= {"inside": bx + ay, "heading": ax + by, "rest": ax + ay}
        found.append({name: value + noise * rng.standard_normal() for name, value in plain.items()})
    return found


@pytest.mark.parametrize("noise", [0.0, 0.4, 0.8])
def test_the_interval_holds_the_share(noise: float) -> None:
    """8 rows, x and y alike: 95 % less four standard errors of 300 studies, whatever a crowd makes up."""
    rng = np.random.default_rng(3)
    held = []
    for _ in range(300):
        found = {effect.name: effect for effect in effects_of(chaotic(rng, 8, noise))}
        held.append(found["inside"].low <= 0.5 <= found["inside"].high)
    assert np.nanmean(held) >= 0.95 - 4 * np.sqrt(0.95 * 0.05 / 300)


def test_what_does_nothing_gets_nothing_however_chaotic_the_crowd() -> None:
    """The placebo: without the nudge a group that does nothing would get half of the variance here."""
    rng = np.random.default_rng(4)
    found = [
        {e.name: e for e in effects_of(chaotic(rng, 32, np.sqrt(2 / 3)))}["rest"]
        for _ in range(300)
    ]
    assert abs(np.nanmedian([effect.total for effect in found])) < 0.1
    assert np.mean([effect.is_seen for effect in found]) <= 0.025


def test_an_answer_that_nothing_moves_or_that_is_missing_says_nothing() -> None:
    still = shares(lambda point, seed: 1.0, 4)
    assert all(np.isnan(effect.total) for effect in still.values())
    gone = shares(lambda point, seed: float("nan"), 4)
    assert all(np.isnan(effect.total) for effect in gone.values())
    assert effects_of([]) == []
