"""What somebody with a phone would write of a race that is known: by hand, kind by kind."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from simrun.trials.learning.seen_figures import (
    MISTAKEN_SHARE,
    PHONE_ERROR_S,
    figure_names,
    figures_of,
    figures_seen,
    pair_gaps_s,
)
from simrun.trials.learning.sightings import (
    ABREAST,
    GAP,
    KINDS,
    RATE,
    SECTION,
    SPLITS,
    STARTS,
    THIRDS,
    Sighting,
)

NUMBERS = range(200)
RUNNERS = 100


def world(passed: Any, across: Any, left: bool = True) -> tuple[Any, Any]:
    """One mark, here called by every name, and one race past it."""
    marks = SimpleNamespace(
        mark=lambda name: {"far": 1}.get(name, 0),
        width_m=np.array([6.0, 6.0]),
        is_left_inside=lambda name: left,
    )
    later = np.column_stack([passed, np.asarray(passed) + 60.0])
    race = SimpleNamespace(crossing_s=later, across=np.column_stack([across, across]))
    return marks, race


def mean_of(sighting: Sighting, passed: Any, across: Any, left: bool = True) -> Any:
    """The figures over many errors of who looks, on average."""
    marks, race = world(passed, across, left)
    return np.mean([figures_of(marks, race, [sighting], n)[0] for n in NUMBERS], axis=0)


def test_every_kind_has_a_name_for_every_figure() -> None:
    for kind in KINDS:
        values = (5.0, 3.0, 2.0) if kind == THIRDS else (10.0, 11.0, 12.0)
        sighting = Sighting(kind, ("here",), values)
        assert len(figure_names(sighting)) == len(figures_seen(sighting))


def test_a_steady_stream_is_so_many_a_minute() -> None:
    """One every 0.5 s is 120 a minute, and one in any quarter of a second."""
    passed = 20.0 + 0.5 * np.arange(RUNNERS)
    rate = mean_of(Sighting(RATE, ("here",), (1.0,)), passed, np.full(RUNNERS, 0.5))
    assert rate == pytest.approx(60 * 0.5 * 100 / 49.5 / 0.5, rel=0.01)
    abreast = mean_of(Sighting(ABREAST, ("here",), (1.0,)), passed, np.full(RUNNERS, 0.5))
    assert abreast == pytest.approx(1.0, abs=0.1)


def test_a_row_of_four_is_four_abreast() -> None:
    passed = np.repeat(10.0 + 2.0 * np.arange(25), 4) + np.tile([0.0, 0.08, 0.16, 0.24], 25)
    found = mean_of(Sighting(ABREAST, ("here",), (1.0,)), passed, np.full(RUNNERS, 0.5))
    assert found == pytest.approx(4.0, abs=0.1)


def test_a_gap_is_to_the_next_in_the_same_file() -> None:
    """Two files 2 m apart, each with a runner a second: a second, not half of it; who is last has none."""
    passed = np.arange(8) * 0.5
    across = np.tile([0.0, 2.0], 4)
    assert pair_gaps_s(passed, across) == pytest.approx(np.ones(6))
    assert len(pair_gaps_s(np.array([0.0, 4.0]), np.zeros(2))) == 0


def test_thirds_are_counted_from_the_inside() -> None:
    """Six of ten on the left: inside at a left turn, outside at a right one, but for miscounts."""
    across = np.repeat([0.1, 0.5, 0.9], [60, 30, 10])
    sighting = Sighting(THIRDS, ("here",), (60.0, 30.0, 10.0))
    inside = 0.6 * (1 - MISTAKEN_SHARE) + 0.3 * MISTAKEN_SHARE / 2
    found = mean_of(sighting, np.arange(RUNNERS), across)
    assert found[0] == pytest.approx(inside, abs=0.01)
    assert mean_of(sighting, np.arange(RUNNERS), across, left=False)[2] == pytest.approx(
        inside, abs=0.01
    )


def test_splits_and_sections_are_times_of_the_field() -> None:
    passed = np.linspace(50.03, 90.03, RUNNERS)
    times = tuple(map(float, passed))
    split = mean_of(Sighting(SPLITS, ("here",), times), passed, np.zeros(RUNNERS))
    assert split[2] == pytest.approx(70.03, abs=0.5)
    assert split[3] - split[1] == pytest.approx(20.0, abs=0.3)
    section = mean_of(Sighting(SECTION, ("here", "far"), times), passed, np.zeros(RUNNERS))
    assert section[1] == pytest.approx(60.0, abs=0.4)


def test_a_list_shorter_than_the_field_holds_its_first_finishers() -> None:
    """Fifty of a hundred: their middle is the field's first quarter; fifty timed of everybody are anybody."""
    passed = np.linspace(50.03, 90.03, RUNNERS)
    times = tuple(map(float, passed[:50]))
    first = mean_of(Sighting(SPLITS, ("here",), times, 50), passed, np.zeros(RUNNERS))
    assert first[2] == pytest.approx(60.0, abs=0.5)
    some = mean_of(Sighting(SPLITS, ("here",), times), passed, np.zeros(RUNNERS))
    assert some[2] == pytest.approx(70.0, abs=0.7)


@pytest.mark.parametrize(("step", "wide"), [(1.0, True), (0.01, False)])
def test_a_list_in_whole_seconds_is_held_against_whole_seconds(step: float, wide: bool) -> None:
    passed = np.full(RUNNERS, 5.4)
    seen = tuple(float(round(t / step) * step) for t in np.linspace(3.33, 9.77, RUNNERS))
    marks, race = world(passed, np.zeros(RUNNERS))
    found = [figures_of(marks, race, [Sighting(STARTS, ("here",), seen)], n)[0][2] for n in NUMBERS]
    assert (set(np.round(found, 6)) <= {5.0, 6.0}) is wide


def test_who_looks_makes_the_same_errors_whatever_else_was_seen() -> None:
    """So that one more count moves no figure of the others."""
    marks, race = world(np.linspace(50.03, 90.03, RUNNERS), np.linspace(0.1, 0.9, RUNNERS))
    gaps = Sighting(GAP, ("here",), (1.0,) * 10)
    rate = Sighting(RATE, ("here",), (1.0,))
    alone = figures_of(marks, race, [gaps], 3)[0]
    both = figures_of(marks, race, [rate, gaps], 3)[1]
    assert np.array_equal(alone, both)
    assert PHONE_ERROR_S < 0.1
