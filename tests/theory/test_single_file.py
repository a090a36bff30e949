"""One behind the other, where nobody can pass: what the following law must give, in closed form."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.engine.run import Race
from simrun.laws.settings import Settings, settings_of
from tests.helpers.worlds import LANE, file_race, scenario_of

SETTINGS = settings_of("runner")
LEADERS_M_S, WISH_M_S = [2.0, 3.0, 4.0], 5.0


def kept_s(leader_m_s: float, following_s: float) -> float:
    """The time gap of the law, by hand: T up to 70 % of the wish, 0.8 m from 90 % on, evenly less between."""
    part = min(1.0, max(0.0, (leader_m_s / WISH_M_S - 0.7) / 0.2))
    return (1 - part) * following_s + part * min(following_s, 0.8 / leader_m_s)


def behind(folder: Path, leader_m_s: float, seconds: float, settings: Settings = SETTINGS) -> Race:
    """Seven who wish to run 5 m/s behind a leader who does not, so many seconds after the gun."""
    paces = np.array([leader_m_s] + 7 * [WISH_M_S])
    race = file_race(scenario_of(LANE, folder), paces, 1.0, frames=False, settings=settings)
    race.advance(round(seconds / race.step_s))
    return race


@pytest.mark.parametrize("leader_m_s", LEADERS_M_S)
@pytest.mark.parametrize("following_s", [0.33, 0.45, 0.60])
def test_followers_keep_the_gap_of_the_law(
    leader_m_s: float, following_s: float, tmp_path: Path
) -> None:
    """Which gap is kept behind a slower leader? s0 + T v over the range of T, less behind one who is hardly
    slower; and nobody is faster.

    Treiber, Hennecke and Helbing 2000 without the free-road term; memory, formula computed
    """
    race = behind(tmp_path, leader_m_s, 100.0, SETTINGS._replace(following_time_s=following_s))
    gap = -np.diff(race.bodies["x"]) - 2 * race.roster.radius_m[0]
    law = SETTINGS.standstill_gap_m + kept_s(leader_m_s, following_s) * leader_m_s
    np.testing.assert_allclose(gap, law, rtol=0.01)
    np.testing.assert_allclose(race.bodies["speed"], leader_m_s, rtol=0.01)


@pytest.mark.parametrize("leader_m_s", LEADERS_M_S)
def test_a_file_passes_at_the_rate_of_the_law(leader_m_s: float, tmp_path: Path) -> None:
    """How long is it from one runner of the file to the next at a mark? T + (2 r + s0) / v.

    The most that one file of those held up can carry is so 1/T = 2.2 a second, however fast it runs. The
    limit on time lets the slowest leader reach the mark.
    Treiber, Hennecke and Helbing 2000 without the free-road term; memory, formula computed
    """
    race = behind(tmp_path, leader_m_s, 290.0)
    headway = np.diff(race.tape.crossing_s[:, 0])
    body = 2 * race.roster.radius_m[0] + SETTINGS.standstill_gap_m
    kept = kept_s(leader_m_s, SETTINGS.following_time_s)
    np.testing.assert_allclose(headway, kept + body / leader_m_s, rtol=0.01)


def test_who_leads_is_not_held_up(tmp_path: Path) -> None:
    """Do those behind slow the first of a file? Not by one bit: it runs as it would alone."""
    scenario = scenario_of(LANE, tmp_path)
    file, alone = (
        file_race(scenario, np.full(count, 5.0), 1.0, frames=False).run() for count in (8, 1)
    )
    assert file.tape.crossing_s[0, 0] == alone.tape.crossing_s[0, 0]


def test_nobody_passes_or_is_run_into(tmp_path: Path) -> None:
    """Faster and faster runners behind a slow one arrive in the order in which they stood, untouched."""
    race = file_race(scenario_of(LANE, tmp_path), np.linspace(3, 6, 8), 1.0, frames=False).run()
    assert (np.diff(race.tape.crossing_s[:, 0]) > 0).all()
    assert race.tape.overlap[0] == 0.0


@pytest.mark.parametrize("apart_m", [0.7, 1.0])
def test_when_the_second_of_a_column_sets_off(apart_m: float, tmp_path: Path) -> None:
    """When does the second move? A reaction after the first, and longer by so much for every metre between.

    That the first goes is seen at the next step, and the wait is counted in whole steps: at most two steps
    later than in closed form.
    computed
    """
    race = file_race(scenario_of(LANE, tmp_path), np.full(2, 4.0), apart_m, frames=False)
    moved_s = SETTINGS.restart_reaction_s + SETTINGS.set_off_wait_per_m_s * apart_m
    while race.bodies["speed"][1] == 0.0:
        race.advance(1)
    # The step in which it moves first began one step ago.
    assert moved_s <= race.t_s - race.step_s <= moved_s + 2 * race.step_s
