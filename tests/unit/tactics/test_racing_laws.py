"""The laws of racing, each against its own formula."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from simrun.laws.reserve import empty_after_s, tired_critical_m_s
from simrun.laws.settings import settings_of
from simrun.laws.wake import wind_share
from simrun.state.arrays import BODY
from simrun.tactics.chase import chase_more, hold_back, spare_m
from simrun.tactics.company import cover_more, note_company, tuck_less
from simrun.tactics.front import drawn_out_m_s, front_here_m_s, ramp
from simrun.tactics.kick import kick_more, reach_m
from simrun.tactics.raced import raced_over_planned

SETTINGS = settings_of("runner")


def somebody(**told: float) -> Any:
    """A body in the middle of a race, on the plan and with 40 m to spare, nobody near."""
    plain = {"seek_m": 400.0, "finish_m": 5000.0, "course_share": 1.0, "critical_m_s": 4.8}
    plain |= {"cruise_m_s": 5.0, "reserve_m": 140.0, "place": 50, "last_place": 50.0}
    plain |= {"first_place": 1.0, "gap_m": 1e9, "cover_m_s": 0.0, "tuck_m_s": 0.0}
    plain |= {"kick_m": np.inf, "in_reach": 0, "sit_m": np.inf, "move_m": np.inf}
    body = np.zeros(1, dtype=BODY).view(np.recarray)
    for name, value in (plain | told).items():
        body[name] = value
    return body[0]


def raced(station_m: float = 2500.0, planned: float = 5.0, **told: float) -> float:
    return float(raced_over_planned(station_m, 1.0, planned, somebody(**told), SETTINGS))


def test_the_front_draws_by_a_share_of_what_it_is_faster() -> None:
    """own + alpha fade max(0, front - own): whole up to 400 m, half at 600, nothing from 800 on."""
    for at, fade in ((100.0, 1.0), (400.0, 1.0), (600.0, 0.5), (800.0, 0.0), (2000.0, 0.0)):
        assert drawn_out_m_s(4.5, 5.5, at, 0.3, 400.0, 800.0) == pytest.approx(4.5 + 0.3 * fade)
    assert drawn_out_m_s(5.5, 4.5, 100.0, 0.3, 400.0, 800.0) == 5.5
    assert ramp(3.0, 2.0, 4.0) == 0.5


def test_beyond_where_the_front_is_told_nobody_is_drawn() -> None:
    """A pace every ten metres, and nothing after the last."""
    front = np.array([6.0, 5.5])
    assert [front_here_m_s(front, at) for at in (-3.0, 9.9, 10.0, 20.0)] == [6.0, 6.0, 5.5, 0.0]


def test_what_is_spare_is_beyond_what_the_plan_will_take() -> None:
    """2500 level metres at 5 m/s and a critical speed of 4.8 take 100 m; below critical speed nothing."""

    def spare(station_m: float = 2500.0, **told: float) -> float:
        return float(spare_m(station_m, somebody(**told), SETTINGS))

    assert spare() == pytest.approx(40.0)
    assert spare(critical_m_s=5.2) == 140.0
    assert spare(course_share=0.8) == pytest.approx(140.0 - 125.0)
    assert spare(station_m=5100.0) == 140.0
    sit, move = 5.0 * (1 - SETTINGS.sit_share), 5.0 * (1 + SETTINGS.move_share)
    dearer = SETTINGS.dearer_share * (move - 5.0)
    told = 140.0 - 500 * 0.2 / 5.0 - 1000 * max(0.0, sit - 4.8) / sit
    told -= 1000 * (move - 4.8 + dearer) / move
    assert spare(sit_m=3000.0, move_m=4000.0) == pytest.approx(told)
    assert told < 40.0, "who will move has less to spare"


def test_a_chase_needs_places_room_and_means() -> None:
    """3 % in whole at 15 places behind, nothing at 5; nothing without room, nothing at the floor."""
    assert raced(place=65) == pytest.approx(1.03)
    assert raced(place=60) == pytest.approx(1.015)
    assert raced(place=55) == 1.0
    assert raced(place=65, gap_m=1.9) == 1.0
    assert raced(place=65, gap_m=3.0) == pytest.approx(1.015)
    assert raced(place=65, reserve_m=100.0 + SETTINGS.floor_m) == 1.0
    assert raced(place=65, reserve_m=100.0 + SETTINGS.floor_m + 2.5) == pytest.approx(1.015)
    assert raced(station_m=399.0, place=65) == 1.0
    assert chase_more(65.0, 9.0, 0.03, 5.0, 15.0, 3.0) == 0.03


def test_a_move_is_covered_up_to_a_share() -> None:
    """By as much as who gets by is faster, at most 2 %, and only by who is not ahead of the wanted place."""
    assert cover_more(5.05, 5.0, 0.02) == pytest.approx(0.01)
    assert cover_more(6.0, 5.0, 0.02) == 0.02
    assert cover_more(4.9, 5.0, 0.02) == 0.0
    assert raced(cover_m_s=5.05) == pytest.approx(1.01)
    assert raced(cover_m_s=5.05, last_place=60.0) == 1.0


def test_who_is_hardly_slower_is_sat_behind_and_who_is_slow_is_passed() -> None:
    """Half of 1.5 % is given in whole, nothing at 1.5 % and beyond, and nothing to who is faster."""
    assert tuck_less(5.0 * (1 - 0.005), 5.0, 0.015) == pytest.approx(0.005)
    assert tuck_less(5.0 * (1 - 0.012), 5.0, 0.015) == pytest.approx(0.003)
    assert tuck_less(4.8, 5.0, 0.015) == 0.0
    assert tuck_less(5.1, 5.0, 0.015) == 0.0
    assert raced(tuck_m_s=4.975) == pytest.approx(0.995)


def test_who_was_told_not_to_lead_holds_back() -> None:
    """Ahead of the best place that is wanted: 2 % easier once five places too far up."""
    assert hold_back(5.0, 0.02, 5.0) == 0.02
    assert hold_back(-1.0, 0.02, 5.0) == 0.0
    assert raced(place=10, first_place=20.0, last_place=40.0) == pytest.approx(0.98)
    assert raced(place=30, first_place=20.0, last_place=40.0) == 1.0


def test_a_kick_is_for_places_within_reach() -> None:
    """Nobody in reach, no kick; else the even speed that spends the rest at the finish."""
    assert reach_m(400.0, 0.03, 4.0) == pytest.approx(16.0)
    assert kick_more(0, 300.0, 20.0, 4.8, 5.0, 6.0) == 0.0
    assert kick_more(3, 300.0, 20.0, 4.8, 5.0, 6.0) == pytest.approx(4.8 * 300 / 280 / 5.0 - 1)
    assert kick_more(3, 300.0, -1.0, 4.8, 5.0, 6.0) == 0.0
    last = {"station_m": 4750.0, "reserve_m": 25.0}
    assert raced(**last) == 1.0
    assert raced(**last, in_reach=2) == pytest.approx(4.8 * 250 / 230 / 5.0)
    assert raced(**last, in_reach=2, kick_m=4700.0) == 1.0, "a told kick is in the plan"


def test_company_is_the_fastest_just_ahead_and_the_nearest_in_the_track() -> None:
    """A largest and a nearest, whatever the order in which they are met."""
    seen = [(2.0, 0.1, 4.9), (3.5, 1.0, 5.4), (1.5, 2.0, 6.0), (-1.0, 0.0, 7.0), (2.4, 0.0, 4.5)]
    near = [SimpleNamespace(ahead=a, aside=s, speed_ahead=v, bodies_m=0.46) for a, s, v in seen]
    for order in (near, near[::-1]):
        me = SimpleNamespace()
        law: Any = getattr(note_company, "py_func", note_company)
        law(me, len(order), order, SETTINGS)
        assert (me.cover_m_s, me.tuck_m_s) == (5.4, 4.9)


def test_who_is_empty_fades_and_does_not_recover() -> None:
    """Counted in part below 5 m; 6 % slower after 180 s, half of it after 90, and no more after that."""
    assert empty_after_s(10.0, 6.0, 5.0, 0.05) == 10.0
    assert empty_after_s(10.0, 2.5, 5.0, 0.05) == pytest.approx(10.025)
    assert empty_after_s(10.0, -1.0, 5.0, 0.05) == pytest.approx(10.05)
    for empty, share in ((0.0, 0.0), (90.0, 0.03), (180.0, 0.06), (900.0, 0.06)):
        assert tired_critical_m_s(4.8, empty, 0.06, 180.0) == pytest.approx(4.8 * (1 - share))


def test_a_wind_is_paid_for_by_the_square_of_the_speed_through_the_air() -> None:
    """The level cost of the speed found is the level pace again, against and with the wind."""
    k = 0.04 / 36.0
    assert wind_share(5.0, 1.0, 0.0, 0.04, 6.0) == 1.0
    for wind in (-6.0, -2.0, 2.0, 4.0, 8.0):
        v = 5.0 * 0.95 * wind_share(5.0, 0.95, wind, 0.04, 6.0)
        u = v + wind
        assert v / 0.95 * (1 + k * (u * abs(u) - v * v)) == pytest.approx(5.0, rel=1e-4)
    assert wind_share(5.0, 1.0, 4.0, 0.04, 6.0) == pytest.approx(0.945, abs=0.003)
