"""What the replay page carries: the recording's own positions and stations, and names that stay names."""

from __future__ import annotations

import base64
import json
import zlib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.engine.run import run_race
from simrun.pictures.replay.looks import look_of
from simrun.pictures.replay.replay_data import packed_cm, page_data, page_text, stations_m
from simrun.pictures.replay.replay_page import page_html
from simrun.scenario.reader import read
from simrun.state.recording import Recording

SCENARIOS = Path(__file__).parents[3] / "scenarios"


@pytest.fixture(scope="module")
def recording() -> Recording:
    return run_race(read(SCENARIOS / "ferry_meadow.toml").changed({"clock.limit": 240}), 3)


def whole_numbers(text: str) -> np.ndarray:
    planes = np.frombuffer(zlib.decompress(base64.b64decode(text)), dtype=np.uint8)
    return np.ascontiguousarray(planes.reshape(2, -1).T).view("<i2").ravel()


def test_positions_come_back_within_half_a_centimetre(recording: Recording) -> None:
    """First frame, differences of differences: unrolled again, frame by frame, for whoever is there."""
    packed = packed_cm(recording.position_m)
    count = len(recording.roster)
    by_runner = whole_numbers(packed["bends"]).reshape(2 * count, -1).astype(np.int64)
    bends = by_runner.T.reshape(-1, count, 2)
    first = np.array(packed["first"]).reshape(1, count, 2)
    whole = np.concatenate([first, first + np.cumsum(np.cumsum(bends, axis=0), axis=0)]) / 100
    there = ~np.isnan(recording.position_m)
    assert np.abs(whole - recording.position_m)[there].max() <= 0.0051
    frames = np.arange(len(whole))[:, None]
    assert ((frames < np.array(packed["until"])) == there[:, :, 0]).all()


def test_stations_agree_with_the_crossings(recording: Recording) -> None:
    """Where the station passes a checkpoint's, the runner crossed it: within a second and a metre or two."""
    stations = stations_m(recording)
    assert (np.diff(stations, axis=0) > -2.5).all()
    for c, mark in enumerate(recording.strip.checkpoints):
        for i in range(0, len(recording.roster), 7):
            when = recording.crossing_s[i, c]
            if np.isnan(when) or when > len(stations) - 2:
                continue
            here = np.interp(when, np.arange(len(stations)), stations[:, i])
            assert here == pytest.approx(mark.station_m, abs=3.0), (mark.name, i)


def test_the_text_is_json_without_markup(recording: Recording) -> None:
    """Read back it is the same; no < > & is left for a browser to stumble over."""
    data = page_data(recording)
    data["name"] = "</script><script>alert(1)</script>&amp;"
    text = page_text(data)
    assert json.loads(text) == json.loads(json.dumps(data))
    assert not set("<>&") & set(text)


@pytest.mark.parametrize(
    ("name", "look"),
    [
        ("lone oak", "tree"),
        ("three willows", "trees"),
        ("pump house", "building"),
        ("wind pump", "mast"),
        ("duck pond", "water"),
        ("Hay Wagon", "low"),
        ("scarecrow", "post"),
        ("", "post"),
    ],
)
def test_a_landmark_looks_as_its_name_says(name: str, look: str) -> None:
    """By the last word that tells; what nobody can tell is a post."""
    assert look_of(name) == look


def test_another_seed_beside_is_refused(recording: Recording) -> None:
    """Two plans are compared with the same people only."""
    with pytest.raises(BadInput, match="same race day and seed"):
        page_html(recording, replace(recording, seed=4))


def test_follow_gives_the_nearest_name(recording: Recording) -> None:
    with pytest.raises(BadInput, match="did you mean 'Alderbrook'"):
        page_html(recording, follow="Alderbrok")
