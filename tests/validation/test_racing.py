"""Racing on small grounds: openings come out as told, plans leave what they keep, empty runners fade.

Lap by lap against the winner, the place at 200 m and the openings, with intervals over 20 seeds of the heath:
python tests/validation/test_racing.py 20

Declared before it was run: by how much the place at 200 m goes less with ability, over 20 seeds, lay at what
is asked (0.1) within its error, so it is measured once over seeds 1 to 100, whatever comes:
python tests/validation/test_racing.py 100 opening
Measured: from 0.857 to 0.748, by 0.109 (95 % interval 0.104 to 0.114).
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import simrun
from simrun.engine.entering import (
    Racing,
    course_share,
    level_m,
    mark_s,
    told_split_s,
)
from simrun.engine.field import stand_m
from simrun.engine.run import Race, entered, field_of, recording_of, run_race
from simrun.laws.settings import settings_of
from simrun.scenario.scenario import Scenario
from simrun.tactics.margins import own_margins
from simrun.trials.as_raced import beside_entries, front_adds_s, openings
from simrun.trials.statistics import estimate
from tests.helpers.worlds import TWO_ON_A_FIELD, scenario_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SETTINGS = settings_of("runner")


def raced_day(name: str, **changes: Any) -> Scenario:
    """A shipped race day with racing on."""
    keys = {key.replace("__", "."): value for key, value in changes.items()}
    return simrun.read(SCENARIOS / f"{name}.toml").changed({"field.racing": "on", **keys})


def alone(day: Scenario, seed: int, plain: bool = True) -> Race:
    """The field of a seed alone, ready to start; plain: without wander and without the front's pull."""
    roster = day.roster(seed)
    stand, own = stand_m(day.start_line, roster), own_margins(day.strip, roster)
    roster = entered(day, roster, stand, own, SETTINGS)
    if plain:
        roster = replace(roster, wander=np.ones((len(roster), 1)), drawn=np.zeros(len(roster)))
    racing = Racing(np.zeros(0))
    return Race(day, roster, stand, own, alone=True, frames=False, racing=racing)


@pytest.mark.parametrize("told", [0.05, 0.10, 0.15])
@pytest.mark.parametrize("name", ["ferry_meadow", "brindle_fen", "dual_meet"])
def test_an_opening_comes_out_as_a_split(name: str, told: float) -> None:
    """Told 105, 110, 115 %, gun to the mark against race pace on this ground, alone: within 0.5 %.

    our own requirement; 105 to 115 % is common practice
    """
    day = raced_day(name, field__opening=told, field__opening_spread=0)
    race = alone(day, 1)
    wanted = told_split_s(race.roster, race.ground, day.strip.length_m)
    assert not race.roster.cannot_open.any()
    found = mark_s(race, race.roster.opening_m)
    np.testing.assert_allclose(found, wanted, rtol=0.005)
    pace_s = level_m(race.ground, race.roster.opening_m) / race.roster.cruise_m_s
    np.testing.assert_allclose(pace_s / found, 1 + race.roster.opening, rtol=0.005)
    assert np.isin(told, race.roster.opening)


def test_what_a_body_cannot_do_is_said() -> None:
    """Told 40 % over 60 m nobody comes near it, and everybody is said to miss it by how many seconds."""
    day = raced_day("dual_meet", field__opening=0.4, field__opening_spread=0, field__opening_for=60)
    race = alone(day, 1)
    assert race.roster.cannot_open.all()
    late = race.roster.late_s.copy()
    wanted = told_split_s(race.roster, race.ground, day.strip.length_m)
    np.testing.assert_allclose(mark_s(race, race.roster.opening_m) - wanted, late, atol=0.01)
    assert (late > 0.5).all()


def test_what_the_plan_keeps_in_hand_is_left_at_the_finish() -> None:
    """Told to keep 25 m of the plan as run, everybody has 25 m left at the finish alone, within 5 m.

    Start, opening and ground are paid for by the pace after them; bends, which the plan takes for straight,
    leave a little more. our own requirement
    """
    race = alone(raced_day("sallow_heath", field__plan={"in_hand": 25}), 2).run()
    left = race.tape.reserve_m[:, -1]
    assert np.isfinite(left).all()
    settled = (race.roster.pace_share < 1.0) & (race.roster.in_hand_m == 25.0)
    assert settled.mean() > 0.9, "most have to settle below race pace"
    np.testing.assert_allclose(left[settled], 25.0, atol=5.0)


def test_more_in_hand_is_a_slower_pace_and_nobody_else_moves() -> None:
    """The same people, the same openings: only the pace after them."""
    long = {"course.laps.times": 4}
    little = alone(raced_day("ferry_meadow", field__plan={"in_hand": 5}).changed(long), 1).roster
    much = alone(raced_day("ferry_meadow", field__plan={"in_hand": 45}).changed(long), 1).roster
    assert (much.pace_share < little.pace_share).all()
    np.testing.assert_array_equal(much.cruise_m_s, little.cruise_m_s)
    wished = [(1 + r.opening + r.opens_more) * r.pace_share for r in (little, much)]
    np.testing.assert_allclose(*wished, rtol=1e-12)


@pytest.mark.slow
def test_who_plans_to_be_empty_fades() -> None:
    """With -30 m in hand the last kilometre alone is slower than with 25 m, by more than the plan says."""
    day = raced_day("sallow_heath", clock__limit="40 min")
    finish = []
    for hand in (-30, 0, 25):
        race = alone(day.changed({"field.plan": {"in_hand": hand}}), 1).run()
        finish.append(np.median(race.tape.crossing_s[:, -1] - race.tape.crossing_s[:, -4]))
    assert finish[0] > finish[2], finish


def test_seed_times_mean_what_is_said_of_them() -> None:
    """Cross-country: 5 km of this ground in the time entered; a track: of level ground; else the factor."""
    day = raced_day("ferry_meadow")
    share = course_share(alone(day, 1).ground, day.strip.length_m)
    assert 0.85 < share < 0.98
    told = {
        share: {},
        1.0: {"field.seed_on": "track"},
        0.93: {"field.seed_on": "Harrow Fell", "field.seed_factor": 0.93},
    }
    for wanted, change in told.items():
        roster = field_of(day.changed(change), 1, frames=False).roster
        raw = day.roster(1)
        np.testing.assert_allclose(roster.cruise_m_s * wanted, raw.cruise_m_s, rtol=1e-9)
        # An even race at that pace over the level metres behind the seed time leaves nothing.
        left = roster.reserve_m - (roster.cruise_m_s - roster.critical_m_s) * (
            roster.level_m / roster.cruise_m_s
        )
        np.testing.assert_allclose(left, 0.0, atol=1e-9)


def test_mud_slows_and_is_not_in_the_seed_times() -> None:
    """Footing 0.95 today: everybody alone is about 5 % slower, with the same people."""
    dry, mud = raced_day("dual_meet"), raced_day("dual_meet", course__footing=0.95)
    first, second = (alone(day, 1).run() for day in (dry, mud))
    np.testing.assert_array_equal(first.roster.cruise_m_s, second.roster.cruise_m_s)
    ratio = second.tape.crossing_s[:, -1] / first.tape.crossing_s[:, -1]
    assert (np.abs(ratio - 1 / 0.95) < 0.02).all()


def test_a_wind_against_one_stretch_is_with_the_runners_on_the_way_back() -> None:
    """The sign by direction: what blows against the hay meadow blows from behind on the long pasture."""
    day = raced_day("ferry_meadow", course__wind={"speed": 5, "against": "hay meadow"})
    strip = day.strip
    by_name = {
        name: strip.headwind_m_s[strip.section == at].mean()
        for at, name in enumerate(strip.section_names)
        if (strip.section == at).any()
    }
    assert by_name["hay meadow"] == pytest.approx(5.0, abs=0.01)
    assert by_name["long pasture"] < 0.5
    assert min(by_name.values()) < -4.0
    calm, windy = (alone(one, 1).ground for one in (raced_day("ferry_meadow"), day))
    slower = windy["pace_share"][:-1] / calm["pace_share"][:-1]
    against = strip.headwind_m_s
    assert (slower[against > 1] < 1).all()
    assert (slower[against < -1] > 1).all()


def test_an_unknown_stretch_is_named() -> None:
    """One clear error with the nearest right name."""
    with pytest.raises(simrun.SimrunError, match="hay meadow"):
        raced_day("ferry_meadow", course__wind={"speed": 5, "against": "hay medow"})


def test_a_replay_alone_is_the_race_where_nobody_is_near(tmp_path: Path) -> None:
    """With nobody near, racing explains the whole difference: traffic is nothing, to a fiftieth of a second.

    Two who run 60 m apart in a wide field, the second told a place that it does not have: it chases.
    """
    marks = [{"name": "half way", "at": 700}, {"name": "end", "at": 1490}]
    field = scenario_of(TWO_ON_A_FIELD, tmp_path)
    day = field.changed({"clock.frame_s": 1, "course.checkpoints": marks})
    plain = simrun.race(day, 1)
    keen = replace_settings(slack=-10.0)
    chased = run_race(day, 1, settings=keen)
    for recording in (plain, chased):
        traffic = recording.crossing_s - recording.raced_s
        assert np.abs(traffic).max() < 0.02, traffic
    racing = chased.raced_s - chased.alone_s
    assert racing[:, -1].max() < -3.0, "a chase of 3 % over a kilometre is worth seconds"


def replace_settings(slack: float) -> Any:
    """Settings with which everybody minds places that are not even lost."""
    return SETTINGS._replace(chase_slack_places=slack, chase_whole_places=slack + 1)


def test_the_opening_is_told_in_seconds_at_its_mark() -> None:
    """A row a runner: told, missed, alone, in the field; nothing is told where racing is off."""
    day = raced_day("dual_meet", clock__limit=100)
    table = openings(simrun.race(day, 1))
    assert (table["told_s"] > 20).all()
    assert (table["missed_s"].abs() < 0.005 * table["told_s"]).all()
    assert not table["cannot"].any()
    # The wander is in the time alone: not exactly what was told, and near it in the mean.
    assert table["alone_s"].mean() == pytest.approx(table["told_s"].mean(), rel=0.03)
    assert (table["field_s"] >= table["alone_s"] - 0.5).all()
    off = openings(simrun.race(day.changed({"field.racing": "off"}), 1))
    assert off["told_s"].isna().all()
    assert not off["cannot"].any()


def test_a_race_far_from_its_entry_list_is_warned_of() -> None:
    """Track times taken for cross-country times: five per cent off, and one line says so."""
    day = raced_day("brindle_fen")
    recording = simrun.race(day, 1)
    found = beside_entries(recording)
    seeds = np.sort(5000 / day.roster(1).cruise_m_s)
    assert found.entered_winner_s == pytest.approx(seeds[0])
    late = 1.05 * found.entered_median_s / found.median_s
    slow = replace(recording, crossing_s=recording.crossing_s * late)
    assert "the median +" in beside_entries(slow).warning
    scale = found.entered_median_s / found.median_s
    near = replace(recording, crossing_s=recording.crossing_s * scale)
    assert "median" not in beside_entries(near).warning


@pytest.mark.slow
@pytest.mark.xfail(
    strict=True,
    reason="0.044 (0.040 to 0.049) over 20 seeds; 0.109 while crowds cost twice the seconds: places at 200 m "
    "then went less with ability, and the front's pull, an assumed figure, had been chosen for that crowd",
)
def test_the_front_draws_the_field_out() -> None:
    """The place at 200 m goes with ability by at least 0.1 less than with racing off, over paired seeds.

    Of the heath, where the line is wide to 200 m. our own requirement after Hanley 2014 (abstract seen):
    most of a mass field starts near the leaders' pace
    """
    fall = np.array([opening_figures(seed)["correlation falls by"] for seed in range(1, 7)])
    mean, error = np.mean(fall), np.std(fall, ddof=1) / np.sqrt(len(fall))
    assert mean >= 0.1, f"{mean:.3f} +/- {error:.3f}"
    assert mean - 2 * error > 0.0, f"{mean:.3f} +/- {error:.3f}"


@pytest.mark.slow
def test_the_pull_towards_the_front_crowds_the_first_narrowing() -> None:
    """Who is drawn out arrives together: more traffic in the mean at the throat; nothing where nobody is.

    our own requirement
    """
    day = raced_day("ferry_meadow", clock__limit=70)
    races = [run_race(day, seed, frames=False) for seed in (1, 2, 3, 4)]
    added = np.array([np.nanmean(front_adds_s(race)[:, 0]) for race in races])
    error = np.std(added, ddof=1) / 2
    assert added.mean() - 2 * error > 0.0, f"{added.mean():.2f} +/- {error:.2f} s"
    told = {f"teams.{team.name}.opening": 0.1 for team in day.teams}
    nobody_drawn = run_race(day.changed(told), 1, frames=False)
    assert np.nanmax(np.abs(front_adds_s(nobody_drawn))) == 0.0
    off = run_race(day.changed({"field.racing": "off"}), 1, frames=False)
    assert (front_adds_s(off) == 0.0).all()


def test_what_the_front_adds_is_traffic_less_that_of_the_same_race_with_nobody_drawn() -> None:
    """Each race against its own alone-runs as raced, so that what racing cost is in neither."""
    day = raced_day("dual_meet")
    whole = run_race(day, 1, frames=False)
    assert np.abs(whole.raced_s - whole.alone_s).max() > 0.1, (
        "nobody raced: the test would prove little"
    )
    field = field_of(day, 1, frames=False)
    roster = replace(field.roster, drawn=np.zeros(len(field.roster)))
    stand, own = stand_m(day.start_line, roster), own_margins(day.strip, roster)
    race = Race(day, roster, stand, own, frames=False, racing=field.racing)
    calm = recording_of(race.run(), 1)
    traffic, calm_traffic = (one.crossing_s - one.raced_s for one in (whole, calm))
    np.testing.assert_array_equal(front_adds_s(whole), traffic - calm_traffic)


@pytest.mark.slow
def test_alone_the_field_slows_against_the_winner_after_the_first_kilometre() -> None:
    """The median over the winner, first kilometre against the rest of the heath, alone: it grows.

    Hanley 2014, 1273 runners of world championships in cross-country: mass fields slow against the winner
    from lap to lap (abstract seen)
    """
    day = raced_day("sallow_heath")
    grown = []
    for seed in (1, 2, 3, 4):
        found = against_winner(field_of(day, seed, frames=False, alone=True).run().tape.crossing_s)
        grown.append(found[1:].mean() - found[0])
    error = np.std(grown, ddof=1) / 2
    assert np.mean(grown) - 2 * error > 0.0, f"{np.mean(grown):.4f} +/- {error:.4f}"


@pytest.mark.slow
def test_in_the_field_the_mass_slows_against_the_winner_from_the_second_kilometre() -> None:
    """The median over the winner from 1 to 3 km against 3 to 5 km of the heath, in the field: it grows.

    By 0.012 of the winner's time, standard error 0.003 (seeds 1 to 20). Against the first kilometre, which
    the start makes slow for the mass, it need not. Hanley 2014, 1273 runners of world championships in
    cross-country (abstract seen)
    """
    day = raced_day("sallow_heath")
    grown = []
    for seed in range(1, 21):
        found = against_winner(field_of(day, seed, frames=False).run().tape.crossing_s)
        grown.append(found[2] - found[1])
    error = np.std(grown, ddof=1) / np.sqrt(len(grown))
    assert np.mean(grown) - 2 * error > 0.0, f"{np.mean(grown):.4f} +/- {error:.4f}"


def against_winner(crossing_s: np.ndarray) -> np.ndarray:
    """Median over winner: to 1 km, from there to 3 km, and from there to the finish of the heath."""
    one, three, end = 2, 5, 8
    splits = np.stack(
        [crossing_s[:, one], *np.diff(crossing_s[:, [one, three, end]], axis=1).T], axis=1
    )
    winner = np.nanargmin(crossing_s[:, end])
    return np.asarray(np.nanmedian(splits / splits[winner], axis=0))


def opening_figures(seed: int) -> dict[str, float]:
    """Of the heath's first 200 m: how the place goes with ability with racing off and on, and the openings.

    Openings: seconds gun to 200 m at race pace on this ground over those taken, in the mean of the front
    tenth and of the middle third by the place there.
    """
    day = raced_day("sallow_heath", clock__limit=60)
    found: dict[str, float] = {}
    for word, one in (("off", day.changed({"field.racing": "off"})), ("on", day)):
        race = field_of(one, seed, frames=False)
        at = np.full(len(race.roster), 200.0)
        when = mark_s(race, at)
        place, able = (np.argsort(np.argsort(v)) for v in (when, -race.roster.cruise_m_s))
        found[f"correlation, racing {word}"] = float(np.corrcoef(place, able)[0, 1])
        opened = level_m(race.ground, at) / race.roster.cruise_m_s / when
        share = place / len(place)
        found[f"front tenth opens, racing {word}"] = float(opened[share < 0.1].mean())
        middle = (share >= 1 / 3) & (share < 2 / 3)
        found[f"middle third opens, racing {word}"] = float(opened[middle].mean())
    off, on = (found[f"correlation, racing {word}"] for word in ("off", "on"))
    return found | {"correlation falls by": off - on}


def lap_figures(seed: int) -> dict[str, float]:
    """The median over the winner, kilometre by kilometre of the heath, alone and in the field; its growth."""
    marks = [{"name": f"{km} km", "at": 1000 * km} for km in (1, 2, 3, 4, 5)]
    day = raced_day("sallow_heath", course__checkpoints=marks)
    found: dict[str, float] = {}
    for word, is_alone in (("alone", True), ("in the field", False)):
        crossed = field_of(day, seed, frames=False, alone=is_alone).run().tape.crossing_s
        splits = np.diff(crossed, axis=1, prepend=0.0)
        ratio = np.nanmedian(splits / splits[np.nanargmin(crossed[:, -1])], axis=0)
        found |= {f"{word}, km {km}": float(ratio[km - 1]) for km in (1, 2, 3, 4, 5)}
        found[f"{word}, km 2 to 5 against km 1"] = float(ratio[1:].mean() - ratio[0])
        found[f"{word}, km 4 and 5 against km 2 and 3"] = float(
            ratio[3:].mean() - ratio[1:3].mean()
        )
    return found


def main() -> None:
    """Print every figure, or those of one part, with its mean and 95 % interval over the seeds."""
    seeds = range(1, 1 + int(sys.argv[1]))
    parts = {"opening": opening_figures, "laps": lap_figures}
    for figures_of in [parts[word] for word in sys.argv[2:] or parts]:
        rows = [figures_of(seed) for seed in seeds]
        for name in rows[0]:
            found = estimate([row[name] for row in rows])
            print(f"{name}: {found.mean:.4f} ({found.low:.4f} to {found.high:.4f})", flush=True)


if __name__ == "__main__":
    main()
