"""Where it was lost, the picture to share, the upright clip: what they say is what the account says."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from simrun.pictures.charts.where_lost import (
    WAVE_M,
    WAVE_S,
    WhereLost,
    _pace_ticks,
    write_where_lost,
)
from simrun.pictures.film.films import CLIP_PX, MOST_BYTES, upright, write_films
from simrun.pictures.film.pair import Told
from simrun.pictures.film.share import sentence
from simrun.pictures.ink.view import View
from simrun.pictures.story.losing import Losing
from simrun.pictures.story.moments import followed
from simrun.state.account import lost_so_far
from simrun.state.recording import Recording
from tests.helpers.recordings import shipped


@pytest.fixture(scope="module")
def dual() -> Recording:
    return shipped("dual_meet", 1)


@pytest.fixture(scope="module")
def drawn(dual: Recording) -> WhereLost:
    return WhereLost(Losing(dual), followed(dual, None), "us")


def test_the_lines_end_where_the_account_ends(dual: Recording, drawn: WhereLost) -> None:
    """At the last mark what `time_lost` says, and on the way what was lost when the place was come to."""
    last = dual.strip.checkpoints[-1].station_m
    at = int(np.searchsorted(drawn.places_m, last - 5.0))
    lost = dual.crossing_s[:, -1] - dual.best_s[:, -1]
    np.testing.assert_allclose(drawn.lost_s[:, at], lost, atol=0.35)
    account, runner = lost_so_far(dual), 4
    frame = int(np.searchsorted(account.place_m[:, runner], drawn.places_m[20]))
    assert drawn.lost_s[runner, 20] == pytest.approx(account.lost_s[frame, runner], abs=0.1)


def test_the_waves_hold_every_runner(dual: Recording, drawn: WhereLost) -> None:
    """Density times the ground is runners: summed over the field at one place, as many as passed it."""
    along, _, density, speed = drawn.waves
    width = np.interp((along[:-1] + along[1:]) / 2, dual.strip.station_m, dual.strip.width_m)
    k = int(200 / WAVE_M)
    seconds_there = density[:, k].sum() * width[k] * WAVE_M * WAVE_S
    mean = np.nansum(speed[:, k] * density[:, k]) / density[:, k].sum()
    assert seconds_there * mean / WAVE_M == pytest.approx(len(dual.roster), rel=0.05)


def test_it_is_one_picture_that_names_ours(
    dual: Recording, drawn: WhereLost, tmp_path: Path
) -> None:
    """Opened; every runner of ours has a name beside the line, and the title says whose it is."""
    with Image.open(write_where_lost(drawn.losing, drawn.whom, "us", tmp_path / "l.png")) as page:
        assert page.size[0] > 1500
        assert (np.asarray(page.convert("L")) < 200).mean() > 0.02
    texts = [text.get_text() for axes in drawn.figure().axes for text in axes.texts]
    ours = [dual.roster.name[i] for i in np.flatnonzero(drawn.whom.who)]
    assert all(any(text.startswith(name) for text in texts) for name in ours)


def test_the_sentence_to_share_is_the_accounts(dual: Recording, tmp_path: Path) -> None:
    """What a runner of ours lost by the end of what is shown, and the place that cost most, under the map."""
    told = Told(dual)
    said = sentence(told.telling.beats)
    found = re.match(
        r"Millbrook lost (\d+\.\d) s a runner by \d:\d\d: .*\. Most of it at .*, the costliest 50 yd\.",
        said,
    )
    assert found
    account, ours = lost_so_far(dual), dual.roster.team == "Millbrook"
    frame = int(np.searchsorted(dual.times_s, told.telling.span_s[1] - 1e-6))
    assert float(found[1]) == pytest.approx(account.lost_s[frame, ours].mean(), abs=0.06)
    (path,), notes = write_films(told, tmp_path, ("share",))
    assert notes == []
    with Image.open(path) as picture:
        assert picture.size[0] == 1200
        assert picture.size[1] > 675


def test_a_clip_is_upright_and_short(dual: Recording, tmp_path: Path) -> None:
    """Twenty seconds besides the pauses, whatever else was asked for, and small enough for a chat."""
    told = upright(Told(dual, view=View(speed=2.0)))
    assert 18 <= len(told.telling.t_s) / 10 <= 22
    show = told.show(told.view)
    assert show.picture(60).shape == (CLIP_PX[1], CLIP_PX[0])


@pytest.mark.slow
@pytest.mark.parametrize("name", ["ferry_meadow", "ostrel_common"])
def test_clips_of_large_fields_fit_into_a_chat(name: str, tmp_path: Path) -> None:
    """Upright, in one go, below the limit."""
    (path,), notes = write_films(Told(shipped(name, 1)), tmp_path, ("clip",))
    assert notes == []
    assert path.stat().st_size <= MOST_BYTES


def test_speeds_are_told_as_pace() -> None:
    """As athletes say it: whole and half minutes a mile or km, each where its speed is, none on another."""
    for units, unit_m in (("us", 1609.344), ("metric", 1000.0)):
        speeds, words = _pace_ticks(2.0, 6.0, units)
        seconds = [int(a) * 60 + int(b) for a, b in (word.split(":") for word in words)]
        np.testing.assert_allclose(speeds, unit_m / np.array(seconds))
        assert 3 <= len(words) <= 7
        assert np.diff(speeds).max() < -0.5
