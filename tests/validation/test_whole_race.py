"""The whole race of one runner: critical speed and reserve (checks, section B)."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import quad

from simrun.engine.run import Race
from simrun.laws.settings import Settings, settings_of
from simrun.laws.slope import running_cost_j_kg_m
from simrun.runners.endurance import critical_speed_m_s
from simrun.scenario.scenario import Scenario
from simrun.sources import figure
from simrun.tactics.margins import own_margins
from tests.helpers.worlds import LANE, file_race, scenario_of

FLAT = """
name = "Flat"
[clock]
limit = "25 min"
[start]
width = 10
boxes = 2
box_width = 4
front_row = 3
[course]
[[course.pieces]]
piece = "straight"
length = 5000
width = 10
surface = "road"
[field]
ability = "even"
time = "17:30"
fill = true
[[teams]]
name = "One"
box = 1
"""
TIME_S = 1050.0
CRUISE = 5000.0 / TIME_S
TAU = figure("runner.start_constant_s").value
PLAIN = settings_of()._replace(acceleration_cost_share=0.0, dearer_share=0.0)


@pytest.fixture(scope="module")
def flat(tmp_path_factory: pytest.TempPathFactory) -> Scenario:
    return scenario_of(FLAT, tmp_path_factory.mktemp("flat"))


def lone_5_km(
    flat: Scenario, settings: Settings, opening: float = 0.0, kick_m: float = math.inf
) -> Race:
    """One runner with 170 m of reserve on a flat road, opening so much faster over 400 m; run."""
    roster = replace(
        flat.roster(1).one_runner_as_many(1),
        opening=np.array([opening]),
        opening_m=np.array([400.0]),
        reserve_m=np.array([170.0]),
        kick_m=np.array([kick_m]),
    )
    day = SimpleNamespace(strip=flat.strip, clock=flat.clock, start_line=flat.start_line)
    own = own_margins(flat.strip, roster)
    stand = np.zeros((1, 2))
    return Race(day, roster, stand, own, alone=True, frames=False, settings=settings).run()  # type: ignore[arg-type]


def test_critical_speed_and_reserve_make_up_the_5_km_time() -> None:
    """4.6 m/s and 170 m: 5000 m take (5000 - 170) / 4.6 s; so does the critical speed of that runner.

    Source: two-parameter critical-speed model, section B of the checks; computed.
    """
    entry = figure("energy.run_5000_m_s")
    critical = critical_speed_m_s(np.array([CRUISE]), np.array([170.0]))[0]
    assert critical == pytest.approx(4.6)
    assert entry.value == pytest.approx((5000.0 - 170.0) / critical)


def gathering_m(opening: float) -> float:
    """Metres by which a standing start falls behind the critical speed before it is reached: for these
    nothing comes back, since nothing is missing yet."""
    wished = CRUISE * (1 + opening)
    at_s = -TAU * math.log(1 - 4.6 / wished)
    return 4.6 * at_s - wished * (at_s - TAU * (1 - math.exp(-at_s / TAU)))


def gathering_cost_m(opening: float, cost_share: float) -> float:
    """Reserve that the start takes beyond what its metres take: integral of the effort above the
    critical speed, less that of the speed above it."""
    wished = CRUISE * (1 + opening)

    def above(t: float, share: float) -> float:
        gained = wished / TAU * math.exp(-t / TAU)
        speed = wished * (1 - math.exp(-t / TAU))
        dearer = running_cost_j_kg_m(gained / 9.81) / running_cost_j_kg_m(0.0) - 1
        return max(0.0, speed * (1 + share * dearer) - 4.6)

    return quad(lambda t: above(t, cost_share) - above(t, 0.0), 0.0, 40.0, limit=400)[0]


@pytest.mark.parametrize("opening", [0.0, 0.05, 0.10])
def test_a_lone_5_km_however_the_pace_is_spread(flat: Scenario, opening: float) -> None:
    """In the plain model 5000 m take 1050.0 s, however fast the first 400 m, and what the standing start
    cost: 5000 = 4.6 t + 170 - the metres of the start below 4.6 m/s.

    Source: two-parameter critical-speed model, section B of the checks; computed.
    """
    race = lone_5_km(flat, PLAIN, opening)
    expected = (5000.0 - 170.0 + gathering_m(opening)) / 4.6
    # A pace that is even to the end cannot spend what the start has saved.
    unspent = 0.0 if opening else float(race.tape.reserve_m[0, -1])
    assert unspent < 5.0
    assert race.tape.crossing_s[0, -1] == pytest.approx(expected + unspent / 4.6, abs=0.1)


def given_back_m(fast: float, slow: float) -> float:
    """Reserve that slowing down gives back, to first order: the slope of the cost times v dv / g."""
    return 19.5 / 3.6 / 9.81 * (fast**2 - slow**2) / 2


@pytest.mark.parametrize("opening", [0.0, 0.05])
def test_a_lone_5_km_with_what_the_start_costs(flat: Scenario, opening: float) -> None:
    """With the cost of gathering speed the reserve is shorter by its integral, found here by quadrature,
    and longer by what slowing down to the critical speed gives back.

    At 0.05 the start still stays below the limit on acceleration.
    Source: di Prampero et al. 2005, J. Exp. Biol. 208:2809, abstract; seen. Integral computed.
    """
    settings = PLAIN._replace(acceleration_cost_share=1.0)
    race = lone_5_km(flat, settings, opening)
    cost = gathering_cost_m(opening, 1.0)
    cost -= given_back_m(CRUISE * (1 + opening), 4.6)
    expected = (5000.0 - 170.0 + gathering_m(opening) + cost) / 4.6
    assert cost > 1.0, "the integral would not show in the time"
    assert race.tape.crossing_s[0, -1] == pytest.approx(expected, abs=0.1)


def test_the_step_leaves_no_trace_in_a_lone_5_km(flat: Scenario) -> None:
    """A step five times finer changes a lone 5 km with all its costs by less than 0.02 s.

    our own requirement
    """
    fine = flat.changed({"clock.step_s": 0.01})
    times = [lone_5_km(day, settings_of(), 0.10).tape.crossing_s[0, -1] for day in (flat, fine)]
    assert times[0] == pytest.approx(times[1], abs=0.02)


def test_a_kick_leaves_nothing_unspent(flat: Scenario) -> None:
    """An even pace and a kick over the last 400 m: the closed form again, with nothing left over.

    Source: two-parameter critical-speed model; computed.
    """
    race = lone_5_km(flat, PLAIN, 0.0, kick_m=4600.0)
    expected = (5000.0 - 170.0 + gathering_m(0.0)) / 4.6
    assert race.tape.crossing_s[0, -1] == pytest.approx(expected, abs=0.1)
    assert abs(race.tape.reserve_m[0, -1]) < 0.5


def test_a_fast_opening_is_free_in_the_plain_model_and_dear_in_ours(flat: Scenario) -> None:
    """Opening 400 m at 20 %: no more than the closed form without extra cost, later with it, and the later
    the dearer; over the whole range of the assumed share the finish moves by seconds, not by minutes.

    The share is assumed (`energy.dearer_share`), so only sign and size are asked for. common practice
    """
    times = [
        lone_5_km(flat, PLAIN._replace(dearer_share=share), 0.20).tape.crossing_s[0, -1]
        for share in (0.0, 0.1, 0.5)
    ]
    assert times[0] == pytest.approx((5000.0 - 170.0 + gathering_m(0.20)) / 4.6, abs=0.1)
    assert times[0] + 1.0 < times[1] < times[2] < times[0] + 20.0


def test_who_is_empty_runs_at_the_critical_speed(flat: Scenario) -> None:
    """After an opening of 30 % over 400 m the last kilometre is run at 4.6 m/s within 0.1 %.

    Source: two-parameter critical-speed model; computed.
    """
    marks = [{"name": "4 km", "at": 4000}, {"name": "finish", "at": 5000}]
    race = lone_5_km(flat.changed({"course.checkpoints": marks}), PLAIN, 0.30)
    last_km_s = float(np.diff(race.tape.crossing_s[0])[0])
    assert 1000.0 / last_km_s == pytest.approx(4.6, rel=0.001)


def test_a_wake_spares_the_reserve(tmp_path: Path) -> None:
    """Single file on a lane too narrow to pass: who follows has more left at 500 m than who leads.

    Source: Pugh 1971, J. Physiol. 213:255: running close behind another costs less; seen. Sign only.
    """
    lane, pace = scenario_of(LANE, tmp_path), np.array([4.95, 5.1, 5.1])
    left, bare = (
        file_race(lane, pace, 1.2, settings=settings_of()._replace(wake_shielded_share=share))
        .run()
        .tape.reserve_m[:, 0]
        for share in (0.8, 0.0)
    )
    most = 0.032 * (4.95 / 6.0) ** 2 * 500.0
    assert ((left - bare)[1:] > 0.0).all(), left - bare
    assert ((left - bare)[1:] <= most).all(), "more than a whole shelter all the way"
    assert left[0] == bare[0], "the leader is in nobody's wake"
