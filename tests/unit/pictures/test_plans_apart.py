"""The gap between two plans by place: who comes later is behind, by the clock, and steps add up to it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from simrun.pictures.film.pair import Pair
from simrun.pictures.ink.colours import ink
from simrun.pictures.ink.view import View
from simrun.pictures.story.losing import Losing
from simrun.pictures.story.plans_apart import gap_of
from simrun.state.recording import Recording
from tests.helpers.recordings import shipped

HELD_FRAMES = 30


@pytest.fixture(scope="module")
def race() -> Recording:
    return shipped("dual_meet", 1)


def held(race: Recording, who: np.ndarray, from_s: float) -> Recording:
    """The same race in which these stand still for some frames from a moment on."""
    frame = int(np.searchsorted(race.times_s, from_s))
    position, crossing = race.position_m.copy(), race.crossing_s.copy()
    late = race.position_m[frame:-HELD_FRAMES, who]
    position[frame : frame + HELD_FRAMES, who] = race.position_m[frame, who]
    position[frame + HELD_FRAMES :, who] = late
    for runner in np.flatnonzero(who):
        crossing[runner, crossing[runner] >= race.times_s[frame]] += HELD_FRAMES * 0.1
    return replace(race, position_m=position, crossing_s=crossing)


def ours(race: Recording) -> np.ndarray:
    return np.asarray(race.roster.team == race.scenario.our_team)


def test_who_stands_three_seconds_is_three_seconds_behind(race: Recording) -> None:
    """From the place on where they stood, and not before; a race beside itself is level everywhere."""
    who = ours(race)
    later = held(race, who, 20.0)
    gap = gap_of(Losing(race), Losing(later), who)
    stood = float(Losing(race).place_m(np.array([20.0]))[0, who].max())
    after = gap.place_m > stood + 1
    before = gap.place_m < float(Losing(race).place_m(np.array([20.0]))[0, who].min()) - 1
    assert after.any()
    assert before.any()
    known = np.isfinite(gap.behind_s)
    np.testing.assert_allclose(gap.behind_s[after & known], 3.0, atol=0.01)
    np.testing.assert_allclose(gap.behind_s[before], 0.0, atol=1e-9)
    assert np.nansum(gap.steps_s) == pytest.approx(3.0, abs=0.01)
    level = gap_of(Losing(race), Losing(race), who)
    np.testing.assert_array_equal(level.behind_s[np.isfinite(level.behind_s)], 0.0)


def test_two_plans_have_a_ribbon_each_and_one_ledger(race: Recording) -> None:
    """Runners lie on both ribbons; the steps are drawn on the side of who gained, and none beside itself."""
    later = held(race, ours(race), 20.0)
    view = View(from_s=0.0, to_s=45.0, speed=5.0)
    pairs = [Pair(race, other, view) for other in (later, race)]
    for show, stepped in zip(pairs, (True, False), strict=True):
        paper, last = show.layout, len(show) - 1
        picture = show.picture(last)
        assert picture.shape == (view.height_px, view.width_px)
        top = paper.top_px + paper.map_height_px
        ribbon, under = picture[top : top + paper.ribbon_px], top + paper.ribbon_px
        for half in (ribbon[:, : paper.map_width_px], ribbon[:, -paper.map_width_px :]):
            assert (half == ink("ours_ring")).any()
        steps = picture[under : under + paper.under_px, paper.width_px // 2 :] == ink("other_plan")
        assert steps.any() == stepped
        middle = (paper.px(24) + paper.under_px - paper.px(4)) // 2
        assert not steps[middle + 2 :].any(), "the left plan gained: up"
