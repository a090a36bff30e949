"""Layouts weighed in three things: fairness alone never recommends, and chance recommends nothing."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from simrun.answers.layout.fair.layout_sample import LayoutSample
from simrun.answers.layout.layout_found import Found, Searched, Sweep
from simrun.answers.layout.words import fairest_words, sentence_of, unfit_words
from simrun.pictures.charts.layout_maps import Dot, weighed
from tests.helpers.layouts import crowds

BOXES, EACH, SEEDS = 10, 7, 12
APART = np.linspace(-1.0, 1.0, BOXES)


class Seen(Found):
    """A study whose marks have no course."""

    @property
    def at(self) -> str:
        return "here"


def sample(
    rng: np.random.Generator, apart: NDArray[Any] = APART, lost_s: float = 3.0, density: float = 2.0
) -> LayoutSample:
    """Boxes so far apart, everybody losing so much, so many people on the fullest square metre."""
    box = np.tile(np.repeat(np.arange(1, BOXES + 1), EACH), (SEEDS, 1))
    lost = lost_s + apart[box - 1] + rng.normal(0, 1.0, box.shape)
    crowd = crowds(density + rng.normal(0, 0.2, SEEDS))
    day: Any = SimpleNamespace(strip=SimpleNamespace(checkpoints=(SimpleNamespace(name="here"),)))
    place = lost.argsort(axis=1).argsort(axis=1) + 1.0
    return LayoutSample(day, box, lost[:, :, None], place[:, :, None], crowd)


def found(now: LayoutSample, *others: LayoutSample) -> Found:
    raced = [({"width": 20.0 * (i + 1)}, other) for i, other in enumerate(others)]
    return Seen(None, {"width": (20.0,)}, tuple(range(SEEDS)), now, Sweep(raced, []))  # type: ignore[arg-type]


def test_the_fairest_is_not_recommended_where_everybody_loses_more() -> None:
    """Boxes a second closer together, everybody 0.7 s later: the price is in the words, the line stays."""
    rng = np.random.default_rng(1)
    study = found(sample(rng), sample(rng, 0.1 * APART, 3.7))
    assert study.fairest is study.weighed[0]
    assert study.weighed[0].closer_s.low > 0
    assert study.weighed[0].is_worse
    assert study.better == []
    assert study.chosen()[0] == {}
    assert sentence_of(study, "metric").startswith(
        "The one layout raced is not better than the line"
    )
    (told,) = fairest_words(study, "metric")
    assert "closer together" in told
    assert "seconds lost by everybody at here: between 0." in told
    assert " s more" in told


def test_what_is_fairer_and_no_worse_is_recommended() -> None:
    """The same seconds and the same crowd; another that is only less crowded counts too, behind it."""
    rng = np.random.default_rng(4)
    now, fair, open_ = sample(rng), sample(rng, 0.1 * APART), sample(rng, density=1.0)
    study = found(now, open_, fair)
    assert [each.values["width"] for each in study.better] == [40.0, 20.0]
    assert study.chosen() == ({"width": 40.0}, fair)
    said = sentence_of(study, "metric")
    assert said.startswith(
        "Better than the line as it is and worse in nothing that we can see, of the 2"
    )
    assert said.endswith("So is 1 other.")
    assert fairest_words(study, "metric") == []


def test_what_does_not_fit_is_told_of_a_search_too() -> None:
    """Twelve by name, with the reason, and how many more there are; nothing where all were raced."""
    rng = np.random.default_rng(5)
    study = found(sample(rng), sample(rng))
    gain = study.weighed[0].closer_s
    left_out = [({"width": 500.0 + i}, "start.width: too wide") for i in range(14)]
    searched = Searched(2, study.now, [], {}, gain, [], left_out)
    told = unfit_words(replace(study, sweep=None, searched=searched), "metric")
    assert told.startswith(
        "Not raced, because they do not fit: line width 500 m: start.width: too wide;"
    )
    assert told.endswith("line width 511 m: start.width: too wide; and 2 more.")
    assert unfit_words(study, "metric") == ""


def in_points(rng: np.random.Generator, apart: NDArray[Any], shared: NDArray[Any]) -> LayoutSample:
    """The same in team points: box means so far apart; shared (SEEDS, BOXES): chance that layouts share."""
    told = sample(rng)
    noise = shared + rng.normal(0, 1.0, (SEEDS, BOXES))
    points = (20 * apart + noise)[np.arange(SEEDS)[:, None], told.box - 1]
    return replace(told, points_lost=points)


def test_points_at_the_finish_stand_beside_the_seconds() -> None:
    """Boxes 20 points either way become 2: in the words with its range; no points where races end before."""
    rng = np.random.default_rng(7)
    shared = rng.normal(0, 3.0, (SEEDS, BOXES))
    study = found(in_points(rng, APART, shared), in_points(rng, 0.1 * APART, shared), sample(rng))
    gain = study.weighed[0].points_closer
    assert gain is not None
    by_hand = 0.9 * 20 * np.std(APART, ddof=1)
    assert gain.low < by_hand < gain.high
    (told,) = fairest_words(replace_raced(study, 1), "metric")
    assert "boxes in team points at the finish: between" in told
    assert study.weighed[1].points_closer is None
    assert "team points" not in fairest_words(replace_raced(study, 2), "metric")[0]


def replace_raced(study: Found, number: int) -> Found:
    """The same study of this layout alone, from 1."""
    return found(study.now, study.sweep.raced[number - 1][1])  # type: ignore[union-attr]


def test_equal_layouts_are_no_closer_in_points() -> None:
    """The placebo: 60 pairs of one and the same layout; zero is covered in 95 of 100, less two errors."""
    covered = 0
    for number in range(60):
        rng = np.random.default_rng(400 + number)
        shared = rng.normal(0, 3.0, (SEEDS, BOXES))
        study = found(in_points(rng, APART, shared), in_points(rng, APART, shared))
        gain = study.weighed[0].points_closer
        covered += gain is not None and gain.low <= 0 <= gain.high
    assert covered / 60 >= 0.95 - 2 * np.sqrt(0.05 * 0.95 / 60)


@pytest.mark.slow
def test_layouts_that_are_all_the_same_are_recommended_no_oftener_than_chance() -> None:
    """The placebo: six layouts of the present one's own numbers, 60 studies; three allow for their error."""
    wrong = 0
    for number in range(60):
        rng = np.random.default_rng(100 + number)
        wrong += bool(found(*(sample(rng) for _ in range(7))).better)
    assert wrong / 60 <= 0.05 + 2 * np.sqrt(0.05 * 0.95 / 60)


@pytest.mark.parametrize("count", [1, 5])
def test_the_picture_names_what_it_must(count: int) -> None:
    """The present layout and the best by words, a ring a layout, nothing below no spread."""
    dots = [Dot("as it is", (1.0, 0.5, 1.5), (3.0, 2.8, 3.2), 2.0, "slowed")]
    dots += [Dot("", (0.1, -0.3, 0.5), (3.1, 2.9, 3.3), 1.0)] * count
    axes = weighed(dots, "here").axes[0]
    assert [text.get_text() for text in axes.get_legend().get_texts()] == ["as it is"]
    assert axes.get_ylim()[0] == 0
    assert len(axes.collections) == 3 * len(dots)
