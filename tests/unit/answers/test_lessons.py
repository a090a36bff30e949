"""What the handbook teaches: figures out of its table, and a placebo that teaches nothing."""

from __future__ import annotations

import numpy as np
import pytest

from simrun.answers.estimate.lessons import Lessons, apart_s, kept, lessons_of
from simrun.answers.estimate.words import lesson_sentence, lesson_words
from simrun.trials.handbook.estimate_model import model_folder
from simrun.trials.handbook.handbook_table import read_boxes, read_days


@pytest.fixture(scope="module")
def lessons() -> Lessons:
    return lessons_of(model_folder())


def test_every_lesson_has_a_range_that_holds_it(lessons: Lessons) -> None:
    """Ends about the figure; thirds that differ are ranges apart; each says how it would be proved wrong."""
    figures = [bar for thirds in lessons.apart for bar in thirds.apart_s]
    for one in (*figures, lessons.kept_seconds, lessons.kept_places, lessons.outside_s):
        assert one.low < one.value < one.high
    ratio, throat = (thirds.apart_s for thirds in lessons.apart)
    assert ratio[2].low > ratio[0].high
    assert throat[0].low > throat[2].high
    assert lessons.kept_places.high < 1 < lessons.kept_seconds.low
    assert "are still lost at 1 km" in lesson_sentence(lessons)
    assert all(wrong.startswith("Proved wrong if") for _, wrong in lesson_words(lessons))


def test_a_placebo_teaches_nothing() -> None:
    """Boxes exchanged at random at 1 km: nothing is kept. Chance alone: nothing lies apart."""
    days, boxes = read_days(model_folder()), read_boxes(model_folder())
    judged = set(days[days.use == "judge"].day)
    throat, km = (boxes[boxes["mark"] == m].reset_index(drop=True) for m in ("throat", "1 km"))
    chance = np.random.default_rng(3)
    mixed = km.copy()
    for name in ("cost_s", "cost_places"):
        mixed[name] = km.groupby("day")[name].transform(
            lambda one: chance.permutation(one.to_numpy())
        )
        found = kept(throat, mixed, name, judged)
        assert found.low < 0.1
        assert abs(found.value) < 0.3 * kept(throat, km, name, judged).value
    noise = km.assign(cost_s=chance.normal(0, km.se_s))
    assert abs(apart_s(noise).mean()) < 0.02 * apart_s(km).mean()
