"""Is a film slow where seconds are lost, and does it show what cost most?"""

from __future__ import annotations

import numpy as np
import pytest

from simrun.pictures.ink.view import AFTER_S, View
from simrun.pictures.story.losing import Losing
from simrun.pictures.story.moments import followed
from simrun.pictures.story.pacing import FASTEST, costliest, paced_s
from simrun.pictures.story.telling import Telling
from simrun.state.account import lost_so_far
from simrun.state.recording import Recording
from tests.helpers.recordings import SHIPPED, shipped

FRAMES_A_S = 10.0
NAMES = sorted(path.stem for path in SHIPPED.glob("*.toml"))


@pytest.fixture(scope="module")
def dual() -> Recording:
    return shipped("dual_meet", 1)


@pytest.mark.parametrize("length_s", [15.0, 25.0, 40.0])
def test_it_lasts_as_long_as_asked_and_slows_down_for_losses(
    dual: Recording, length_s: float
) -> None:
    """Within a second; never back, never over the limits; the second half of the loss gets more time."""
    losing, who = Losing(dual), followed(dual, None).who
    t_s = paced_s([losing], who, (0.0, 80.0), length_s, FRAMES_A_S)
    assert len(t_s) / FRAMES_A_S == pytest.approx(length_s, abs=1.0)
    assert (t_s[0], t_s[-1]) == (0.0, 80.0)
    speed = np.diff(t_s) * FRAMES_A_S
    assert speed.min() > 0
    assert speed.max() < FASTEST * 1.1
    rate = losing.rate_s_s(t_s[:-1])[:, who].mean(axis=1)
    after = t_s[:-1] > 6
    slow, fast = rate[after] > np.quantile(rate[after], 0.8), rate[after] < np.median(rate[after])
    assert speed[after][slow].mean() < 0.7 * speed[after][fast].mean()


def test_a_film_as_long_as_the_race_is_the_race(dual: Recording) -> None:
    """Never slower than it."""
    t_s = paced_s([Losing(dual)], followed(dual, None).who, (0.0, 40.0), 300.0, FRAMES_A_S)
    assert np.diff(t_s) == pytest.approx(0.1, abs=0.002)


def test_the_costliest_stretch_is_found_again_by_hand(dual: Recording) -> None:
    """Metre by metre from the account: no other fifty metres cost our team more."""
    who, account = followed(dual, None).who, lost_so_far(dual)
    found = costliest(Losing(dual), who, (0.0, float(dual.times_s[-1])))
    assert found
    ends = np.arange(0, dual.strip.checkpoints[-1].station_m, 1.0)
    gone = np.zeros(len(ends))
    for i in np.flatnonzero(who):
        place, first = np.unique(account.place_m[:, i], return_index=True)
        gone += np.interp(ends, place, account.lost_s[first, i]) / who.sum()
    cost = gone[50:] - gone[:-50]
    assert cost[round(found[0])] == pytest.approx(cost.max(), abs=0.1)


@pytest.mark.parametrize(
    "name", [pytest.param(n, marks=[] if n == "dual_meet" else pytest.mark.slow) for n in NAMES]
)
def test_the_usual_film_shows_what_cost_most_and_lasts_half_a_minute(name: str) -> None:
    """In every shipped scenario: 20 to 30 s besides the pauses, and all of ours past the costliest 50 m."""
    race = shipped(name, 1)
    telling, who = Telling(race, View()), followed(race, None).who
    assert 20 <= len(telling.t_s) / FRAMES_A_S <= 30
    stretch = costliest(telling.losing, who, (0.0, float(race.times_s[-1])))
    assert stretch
    account = lost_so_far(race)
    for end in stretch:
        past = account.place_m[:, who] >= end
        when = account.times_s[past.argmax(axis=0)][past.any(axis=0)]
        assert telling.t_s[0] <= when.min()
        assert when.max() <= telling.t_s[-1]
    if telling.span_s[1] < race.times_s[-1]:
        assert telling.span_s[1] == pytest.approx(when.max() + AFTER_S, abs=0.2)
    assert len(telling.pauses) >= 3


def test_any_span_has_captions_and_pauses(dual: Recording) -> None:
    """Also where no named place is passed."""
    for begin, end in ((8.0, 16.0), (30.0, 60.0), (60.0, 75.0)):
        telling = Telling(dual, View(from_s=begin, to_s=end))
        told = [beat for beat in telling.beats if begin <= beat.t_s <= end]
        assert len(told) >= 2
        assert telling.pauses
        assert any(beat.lost for beat in told)
