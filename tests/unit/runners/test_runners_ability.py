"""Are times drawn for everybody, team by team, and refused when they make no sense?"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simrun.base.errors import BadInput
from simrun.runners.ability import (
    KINDS,
    VARSITY,
    draw_times_s,
    share_between_teams,
    varsity_law,
)
from simrun.runners.streams import stream

pytestmark = pytest.mark.oracle

TEAMS = np.repeat(np.arange(24), 7)


def _draw(kind: str, teams: np.ndarray = TEAMS, seed: int = 1) -> np.ndarray:
    return draw_times_s(kind, teams, stream(seed, "people"), mean_s=1200.0, sd_s=90.0)


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_seed_draws_the_same_people(kind: str) -> None:
    assert np.array_equal(_draw(kind), _draw(kind))
    assert _draw(kind).shape == TEAMS.shape


@pytest.mark.parametrize("kind", KINDS)
def test_a_team_more_changes_nobody(kind: str) -> None:
    more = np.append(TEAMS, [24, 24, 24])
    assert np.array_equal(_draw(kind, more)[: len(TEAMS)], _draw(kind))


@pytest.mark.parametrize("kind", sorted(VARSITY))
def test_varsity_times_stay_above_the_lower_end_of_the_law(kind: str) -> None:
    law = varsity_law(VARSITY[kind])
    times_s = _draw(kind, np.repeat(np.arange(2000), 7))
    assert times_s.min() > law.fastest_share * law.winner_s
    assert len(np.unique(times_s)) == len(times_s)


def test_even_means_everybody_equal() -> None:
    assert np.array_equal(_draw("even"), np.full(len(TEAMS), 1200.0))


def test_a_normal_field_has_the_mean_and_the_spread_asked_for() -> None:
    times_s = _draw("normal", np.arange(40_000))
    assert abs(times_s.mean() - 1200.0) < 4.0 * 90.0 / math.sqrt(40_000)
    assert abs(times_s.std() - 90.0) < 4.0 * 90.0 / math.sqrt(80_000)


def test_a_normal_field_of_no_spread_is_even() -> None:
    drawn = draw_times_s("normal", TEAMS, stream(1, "people"), mean_s=1200.0, sd_s=0.0)
    assert np.array_equal(drawn, np.full(len(TEAMS), 1200.0))


def test_team_mates_are_more_alike_than_strangers() -> None:
    times_s = _draw("normal", np.repeat(np.arange(30_000), 2)).reshape(-1, 2)
    correlation = np.corrcoef(times_s[:, 0], times_s[:, 1])[0, 1]
    assert abs(correlation - share_between_teams()) < 4.0 / math.sqrt(30_000)


def test_the_order_of_the_runners_does_not_matter_to_the_law() -> None:
    one_team = _draw("boys varsity 5 km", np.zeros(30_000, dtype=np.int64))
    many = _draw("boys varsity 5 km", np.arange(30_000))
    assert one_team.std() < 0.97 * many.std()


def test_an_empty_field_draws_nobody() -> None:
    assert _draw("normal", np.array([], dtype=np.int64)).shape == (0,)


def test_an_unknown_ability_names_the_nearest() -> None:
    with pytest.raises(BadInput, match="did you mean 'boys varsity 5 km'"):
        _draw("boy varsity 5km")


@pytest.mark.parametrize(
    ("kind", "mean_s", "sd_s", "said"),
    [
        ("even", math.nan, math.nan, "time: nan s"),
        ("even", 0.0, 0.0, "time: 0 s"),
        ("normal", 1200.0, math.nan, "spread: nan s"),
        ("normal", 1200.0, -1.0, "spread: -1 s"),
        ("normal", 1200.0, 241.0, "spread: 241 s; 0 to 240 s"),
        ("normal", math.inf, 10.0, "time: inf s"),
    ],
)
def test_senseless_times_are_refused(kind: str, mean_s: float, sd_s: float, said: str) -> None:
    with pytest.raises(BadInput) as caught:
        draw_times_s(kind, TEAMS, stream(1, "people"), mean_s, sd_s)
    assert said in str(caught.value)


@settings(max_examples=30, deadline=None)
@given(st.floats(600.0, 3600.0), st.floats(0.0, 0.2), st.integers(0, 2**32))
def test_a_normal_field_is_always_finite_and_above_nought(
    mean_s: float, share: float, seed: int
) -> None:
    sd_s = min(share * mean_s, mean_s / 5.0)
    times_s = draw_times_s("normal", TEAMS, stream(seed, "people"), mean_s, sd_s)
    assert np.all(np.isfinite(times_s))
    assert times_s.min() > 0.0
