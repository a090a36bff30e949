"""The director's script: the moments are those of the race, and nothing told is wrong."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import simrun
from simrun.pictures.film.inset import turn_called
from simrun.pictures.story.losing import Losing
from simrun.pictures.story.moments import Followed, followed
from simrun.pictures.story.passings import passed_s
from simrun.pictures.story.script import (
    APART_S,
    Beat,
    Script,
    deciding_cut,
    first_gate,
    joined,
    with_costliest,
)
from simrun.state.account import lost_so_far
from simrun.state.recording import Recording
from tests.helpers.recordings import shipped

SHIPPED = Path(__file__).parents[3] / "scenarios"
EVER = 1e9


def beats(recording: Recording, whom: Followed, kind: str, units: str) -> tuple[Beat, ...]:
    span = (0.0, float(recording.times_s[-1]))
    return Script(Losing(recording), whom, span, units).beats(kind)


@pytest.fixture(scope="module")
def farm() -> Recording:
    """Long enough for the second lap's first marks: the same ground is passed twice."""
    return simrun.race(
        simrun.read(SHIPPED / "ferry_meadow.toml").changed({"field.runners": 3}), seed=2
    )


@pytest.fixture(scope="module")
def dual() -> Recording:
    return shipped("dual_meet", 1)


def test_passings_found_in_the_frames_are_those_that_were_recorded(
    farm: Recording, dual: Recording
) -> None:
    """At every checkpoint, also where laps and the start field pass the same ground sooner: 5 ms."""
    for recording in (farm, dual):
        for column, mark in enumerate(recording.strip.checkpoints):
            found = passed_s(recording, mark.station_m, EVER)
            wanted = recording.crossing_s[:, column]
            assert (np.isnan(found) == np.isnan(wanted)).all(), mark.name
            assert np.nanmax(np.abs(found - wanted)) < 0.005, mark.name


def test_nobody_has_passed_before_the_last_second_looked_at(dual: Recording) -> None:
    """Times up to a second are the same, later ones are missing."""
    station = dual.strip.checkpoints[0].station_m
    whole = passed_s(dual, station, EVER)
    half = passed_s(dual, station, float(np.median(whole)))
    assert 0 < np.isnan(half).sum() < len(half)
    assert (np.isnan(half) | (half == whole)).all()
    assert half[whole < np.median(whole) - 0.1] == pytest.approx(
        whole[whole < np.median(whole) - 0.1]
    )


def test_the_place_told_is_the_middle_runners_place(dual: Recording) -> None:
    """Of nine or ten the fifth: counted again from the recorded crossings of the checkpoint there."""
    whom = followed(dual, None)
    told = {beat.name: beat for beat in beats(dual, whom, "named", "us")}
    column = [mark.name for mark in dual.strip.checkpoints].index("quarter mile")
    crossing = dual.crossing_s[:, column]
    middle = np.sort(crossing[whom.who])[(whom.who.sum() - 1) // 2]
    beat = told["quarter mile"]
    assert beat.t_s == pytest.approx(middle, abs=0.005)
    place = 1 + int((crossing < middle - 0.001).sum())
    assert f"Millbrook's fifth in place {place} of 20" == beat.place
    assert beat.see.startswith(f"{middle - crossing.min():.1f} s after the first")


def test_the_throat_and_the_first_turn_decide(farm: Recording) -> None:
    """These two, what cost most and what it cost in all; each place once; no two closer than two seconds."""
    told = beats(farm, followed(farm, None), "named", "metric")
    decide = [beat.name for beat in told if beat.decides]
    assert decide[:2] == ["headland, 12 m", "barn corner"]
    assert decide[-1] == "what it cost"
    assert all(": the costliest 50 m" in name for name in decide[2:-1])
    names = [beat.name for beat in told]
    assert len(set(names)) == len(names)
    assert {"lone oak", "hay wagon", "barn corner (lap 2)"} <= set(names)
    assert np.diff([beat.t_s for beat in told[:-1]]).min() >= APART_S


def test_one_runner_and_nobody_are_told_in_other_words(dual: Recording) -> None:
    """A runner by name, the pack by its half; nobody who never arrives is told of."""
    who = np.zeros(len(dual.roster), dtype=bool)
    told = beats(dual, Followed("", who), "named", "us")
    assert {beat.place for beat in told[:-1]} == {"half of the field is past"}
    assert told[-1].place.startswith("the field lost ")
    who[3] = True
    one = beats(dual, Followed("A <b> runner", who), "named", "us")
    assert one[0].place.startswith("A <b> runner in place ")
    gone = replace(dual, position_m=np.where(who[None, :, None], np.nan, dual.position_m))
    assert [beat.name for beat in beats(gone, Followed("A", who), "named", "us")][:-1] == []


def test_round_distances_fill_stretches_without_a_name(dual: Recording) -> None:
    """Yards where the scenario speaks yards; the times rise with the distance."""
    told = beats(dual, followed(dual, None), "rounds", "us")
    assert [beat.name for beat in told][:3] == ["50 yd", "100 yd", "150 yd"]
    assert (np.diff([beat.t_s for beat in told]) > 0).all()


def test_two_races_are_told_at_the_later_moment(dual: Recording) -> None:
    """The gain of one is the loss of the other, and both wait for the slower one."""
    told = beats(dual, followed(dual, None), "named", "us")[:-1]
    later = tuple(replace(beat, t_s=beat.t_s + 1.5) for beat in told[1:])
    one, other = joined(told, later)
    assert [beat.name for beat in one] == [beat.name for beat in later]
    assert [beat.t_s for beat in one] == [beat.t_s for beat in other] == [b.t_s for b in later]
    assert {beat.see for beat in one} == {"1.5 s sooner than in the other race"}
    assert {beat.see for beat in other} == {"1.5 s later than in the other race"}
    assert joined(told, ()) == ((), ())


def test_the_turn_shown_small_is_the_first_or_the_one_named(farm: Recording) -> None:
    """None = the first turn; a throat may be named too."""
    strip = farm.strip
    assert turn_called(strip, None) is first_gate(strip, turn=True)
    gateway = turn_called(strip, "gateway")
    assert gateway is not None
    assert strip.width_m[deciding_cut(strip, gateway)] == pytest.approx(4.0)


def test_what_a_caption_says_was_lost_is_what_the_account_says(dual: Recording) -> None:
    """The runner told of, from where they passed the place before to where they pass this one."""
    account = lost_so_far(dual)
    told = beats(dual, followed(dual, None), "named", "us")
    lost = [re.match(r"\+(\d+\.\d) s since ([\w ]+), of it (\w+) (\d+\.\d)", b.lost) for b in told]
    assert sum(found is not None for found in lost) >= 3
    later = next(k for k in range(1, len(told)) if lost[k])
    beat, before, found = told[later], told[later - 1], lost[later]
    assert found
    assert found[2] == before.name.partition(", ")[0]
    here, there = (
        passed_s(
            dual,
            next(
                m.station_m
                for m in (*dual.strip.landmarks, *dual.strip.checkpoints)
                if m.name == before.name.partition(", ")[0]
            ),
            EVER,
        ),
        beat.t_s,
    )
    gain = [
        np.interp(there, account.times_s, account.lost_s[:, i])
        - np.interp(here[i], account.times_s, account.lost_s[:, i])
        for i in np.flatnonzero(dual.roster.team == "Millbrook")
    ]
    assert np.abs(np.array(gain) - float(found[1])).min() < 0.06


def test_the_last_beat_says_what_it_cost(dual: Recording) -> None:
    """The mean of those followed at the last second, and its parts."""
    account, ours = lost_so_far(dual), dual.roster.team == "Millbrook"
    end = beats(dual, followed(dual, None), "named", "us")[-1]
    lost = f"Millbrook lost {account.lost_s[-1, ours].mean():.1f} s a runner"
    assert end.place == f"{lost} by {int(end.t_s // 60)}:{int(end.t_s % 60):02d}"
    assert f"traffic {account.traffic_s[-1, ours].mean():.1f}" in end.see


def test_a_turn_told_where_most_was_lost_says_so(dual: Recording) -> None:
    """Where the costliest stretch ends at the turn itself, the turn bears its words; nobody else does."""
    told = beats(dual, followed(dual, None), "named", "us")
    turn = next(beat for beat in told if beat.name == "mill corner")
    kept = tuple(beat for beat in told if ": the costliest" not in beat.name)
    most = Beat(turn.t_s + 0.9 * APART_S, "mill lane: the costliest 50 yd", "", "", turn.importance)
    named = [beat.name for beat in with_costliest(kept, most) if "costliest" in beat.name]
    assert named == ["mill corner: the costliest 50 yd"]
    later = replace(most, t_s=turn.t_s + 1.1 * APART_S)
    assert with_costliest(kept, later) == kept
    assert with_costliest(kept, None) == kept
