"""The worst pair of boxes: named where two differ, by a placebo never, and few races are said to be few."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from simrun.answers.layout.fair.layout_sample import LayoutSample
from simrun.answers.layout.fair.worst_pair import worst_of
from simrun.answers.layout.words import NO_PAIR, TOO_FEW, pair_words
from tests.helpers.layouts import day_of, raced

Array = NDArray[np.float64]
STUDIES = 200
DOUBT, SLACK = 0.05, 3 * np.sqrt(0.05 * 0.95 / STUDIES)
"""One study in twenty may name a pair by chance; three standard errors of so many studies."""


TURNED = [np.array([[a], [b], [not a], [not b]]) for a in (True, False) for b in (True, False)]
"""Of four races, which two are looked at in the mirror."""


def means(rng: np.random.Generator, races: int, scatter: Array, inputs: float = 0.0) -> Array:
    """Equal boxes: what a race has in common, chance by box, and what two races of one point share."""
    own = rng.normal(size=(races, len(scatter))) * scatter + rng.normal(0, 3, (races, 1))
    return (
        own + inputs * np.repeat(rng.normal(size=(-(-races // 2), len(scatter))), 2, axis=0)[:races]
    )


def named_share(races: int, scatter: Array, inputs: float | None = None) -> float:
    """Which share of studies of equal boxes names a pair?"""
    rng = np.random.default_rng(races)
    points = None if inputs is None else np.repeat(np.arange(races // 2), 2)
    boxes = np.arange(1, len(scatter) + 1)
    found = [
        worst_of(means(rng, races, scatter, inputs or 0.0), boxes, points) for _ in range(STUDIES)
    ]
    return float(np.mean([pair.is_named for pair in found]))


@pytest.mark.parametrize("races", [4, 20])
def test_equal_boxes_name_no_pair(races: int) -> None:
    """At most one study in twenty, for boxes that scatter alike, and for ends that scatter twice as much."""
    assert named_share(races, np.ones(14)) < DOUBT + SLACK
    assert named_share(races, 1 + np.abs(np.linspace(-1, 1, 14))) < DOUBT + SLACK
    assert named_share(races, np.ones(14), inputs=1.0) < DOUBT + SLACK


def test_two_boxes_that_differ_are_named_with_an_interval_that_holds() -> None:
    """Six races of fourteen boxes, one 3 s above all and one 3 s below: the interval holds the 6 s."""
    rng, boxes = np.random.default_rng(1), np.arange(1, 15)
    extra = np.zeros(14)
    extra[[3, 9]] = 3.0, -3.0
    found = [worst_of(means(rng, 6, np.ones(14)) + extra, boxes) for _ in range(100)]
    assert all((pair.most, pair.least) == (4, 10) and pair.is_named for pair in found)
    assert np.mean([pair.apart.low <= 6 <= pair.apart.high for pair in found]) >= 0.95
    assert pair_words(found[0], "s").startswith("box 4 against 10: +")
    told = worst_of(means(rng, 6, np.ones(14), 1.0) + 2 * extra, boxes, np.repeat(np.arange(3), 2))
    assert (
        told.apart.low < told.apart.by_chance.low < 12 < told.apart.by_chance.high < told.apart.high
    )
    calm = worst_of(means(rng, 8, np.ones(14)) + 4 * extra, boxes, np.repeat(np.arange(4), 2))
    assert "; chance alone" in pair_words(calm, "s")
    rough = worst_of(
        means(rng, 6, np.ones(14), 2.0) + 1.5 * extra, boxes, np.repeat(np.arange(3), 2)
    )
    assert [rough.is_named, rough.apart.by_chance.low > 0] == [False, True]
    assert "would by chance alone, but" in pair_words(rough, "s")


def test_too_few_races_are_said_to_be_too_few() -> None:
    """Two races, and four races at one point of the inputs: no interval, and the sentence."""
    rng, boxes = np.random.default_rng(2), np.arange(1, 15)
    few = worst_of(means(rng, 2, np.ones(14)), boxes)
    one = worst_of(means(rng, 4, np.ones(14)), boxes, np.zeros(4, dtype=np.int64))
    assert pair_words(few, "s") == pair_words(one, "s") == TOO_FEW
    assert [few.is_named, one.is_named] == [False, False]


def test_boxes_that_are_missing_in_a_race_are_left_out() -> None:
    """The box that loses most in nine races of ten is not there in the tenth: another is the worst."""
    values = means(np.random.default_rng(3), 10, np.ones(4)) + np.array([0.0, 50.0, 20.0, 0.0])
    values[9, 1] = np.nan
    assert worst_of(values, np.arange(1, 5)).most == 3


@pytest.fixture(scope="module")
def narrow() -> LayoutSample:
    """Four races, 60 m of line, the narrowing ahead of its right end: the left has it 25 m further."""
    day = day_of(60, 60, 6, 12, runners=5).changed({"course.pieces.2.side": "left"})
    return raced(day, range(1, 5), 92)


def test_in_real_races_boxes_shuffled_within_each_race_name_no_pair(narrow: LayoutSample) -> None:
    """The placebo: the same races, the boxes' names drawn anew in each; as they are, an end is named."""
    lost = narrow.by_box(narrow.lost_s[:, :, narrow.at("first narrowing")])
    rng, boxes = np.random.default_rng(4), np.arange(1, 13)
    shuffled: list[Any] = [worst_of(rng.permuted(lost, axis=1), boxes) for _ in range(STUDIES)]
    assert np.mean([pair.is_named for pair in shuffled]) < DOUBT + SLACK
    assert pair_words(next(pair for pair in shuffled if not pair.is_named), "s") == NO_PAIR
    real = worst_of(lost, boxes)
    assert real.is_named
    assert (real.most, real.least) == (1, 12)
    mirrored = [worst_of(np.where(turned, lost[:, ::-1], lost), boxes) for turned in TURNED]
    assert not any(pair.is_named for pair in mirrored)
