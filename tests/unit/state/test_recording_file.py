"""A recording on disk: what comes back, and what is refused in one line."""

from __future__ import annotations

import io
import json
import os
import zipfile
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import simrun
from simrun.base.errors import BadInput, BadRecording
from simrun.pictures.replay.replay_data import page_data
from simrun.runners.roster import RACING, Roster, racing_columns
from simrun.state.recording import Recording
from simrun.state.tracks import NOT_REACHED, Tracks
from tests.helpers.recordings import shipped


@pytest.fixture(scope="module")
def recording() -> Recording:
    return shipped("dual_meet", 2)


def test_what_is_saved_comes_back(recording: Recording, tmp_path: Path) -> None:
    """Positions to half a centimetre, all else in full."""
    back = simrun.load(simrun.save(recording, tmp_path / "r.npz"))
    kept, was = back.position_m, recording.position_m
    assert (kept.shape, kept.dtype) == (was.shape, was.dtype)
    np.testing.assert_array_equal(np.isnan(kept), np.isnan(was))
    # One grain of the float32 divided into centimetres, one of the float32 that is read.
    grain = np.spacing(np.float32(np.nanmax(np.abs(was))))
    assert np.nanmax(np.abs(kept - was)) <= 0.005 + 2 * grain
    for name in ("speed_m_s", "wished_m_s"):
        np.testing.assert_array_equal(getattr(back, name), getattr(recording, name))
        np.testing.assert_array_equal(np.isnan(getattr(back, name)), np.isnan(was[:, :, 0]))
    assert np.isnan(recording.position_m).any(), "nobody left the course: nothing was tried"
    for name in ("crossing_s", "alone_s", "shortest_s", "best_s", "best_box", "times_s"):
        np.testing.assert_array_equal(getattr(back, name), getattr(recording, name))
    for column in fields(Roster):
        kept, was = getattr(back.roster, column.name), getattr(recording.roster, column.name)
        np.testing.assert_array_equal(kept, was, err_msg=column.name)
    assert back.peak_overlap == recording.peak_overlap
    assert back.scenario == recording.scenario
    assert (back.seed, back.version) == (2, simrun.__version__)
    assert simrun.time_lost(back).equals(simrun.time_lost(recording))


def test_a_result_can_be_made_again_from_its_file(recording: Recording, tmp_path: Path) -> None:
    """Scenario and seed out of the file give the same bits."""
    back = simrun.load(simrun.save(recording, tmp_path / "r.npz"))
    again = simrun.race(back.scenario, seed=back.seed)
    np.testing.assert_array_equal(again.position_m, recording.position_m)
    np.testing.assert_array_equal(again.crossing_s, recording.crossing_s)


def refused(path: Path) -> str:
    with pytest.raises(BadRecording) as caught:
        simrun.load(path)
    text = str(caught.value)
    assert "\n" not in text
    assert path.name in text
    return text


def test_strange_files_are_refused(recording: Recording, tmp_path: Path) -> None:
    """Nothing, text, a cut-off file, another zip, a missing file: one line each."""
    good = simrun.save(recording, tmp_path / "good.npz").read_bytes()
    for name, data in (
        ("empty.npz", b""),
        ("text.npz", b"not a recording"),
        ("half.npz", good[: len(good) // 2]),
    ):
        (tmp_path / name).write_bytes(data)
        refused(tmp_path / name)
    with zipfile.ZipFile(tmp_path / "other.npz", "w") as other:
        other.writestr("hello.txt", "hello")
    refused(tmp_path / "other.npz")
    refused(tmp_path / "missing.npz")


@pytest.mark.slow
def test_a_bomb_is_measured_before_it_is_unpacked(tmp_path: Path) -> None:
    """A small file that unpacks to more than a gigabyte is refused unread."""
    with zipfile.ZipFile(tmp_path / "bomb.npz", "w", zipfile.ZIP_DEFLATED) as bomb:
        for part in range(11):
            with bomb.open(f"{part}.npy", "w", force_zip64=True) as file:
                for _ in range(100):
                    file.write(bytes(2**20))
    assert "GB" in refused(tmp_path / "bomb.npz")


class Trap:
    """Read back, it runs a stranger's code: here it makes a folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __reduce__(self) -> tuple[Any, ...]:
        return os.mkdir, (str(self.folder),)


@pytest.mark.parametrize("where", ["about", "crossing_s", "anything"])
def test_pickled_objects_are_not_run(where: str, recording: Recording, tmp_path: Path) -> None:
    """An array of objects is refused unread, also under a name that no recording has."""
    arrays, about = contents(simrun.save(recording, tmp_path / "r.npz"))
    arrays["about"] = np.frombuffer(json.dumps(about).encode(), dtype=np.uint8)
    arrays[where] = np.array([Trap(tmp_path / "sprung")], dtype=object)
    np.savez(tmp_path / "pickled.npz", **arrays)
    refused(tmp_path / "pickled.npz")
    assert not (tmp_path / "sprung").exists()


@pytest.mark.parametrize(
    ("number", "whose"), [(2, "an earlier engine's"), (9, "another version's")]
)
def test_another_format_is_refused_by_its_number(
    recording: Recording, tmp_path: Path, number: int, whose: str
) -> None:
    """A recording of an earlier engine, and a later version's file, say so in one line."""
    path = simrun.save(recording, tmp_path / "r.npz")
    with np.load(path) as loaded:
        arrays = {name: loaded[name] for name in loaded.files}
    text = arrays["about"].tobytes().replace(b'"format": 6', b'"format": %d' % number)
    arrays["about"] = np.frombuffer(text, dtype=np.uint8)
    np.savez(path, **arrays)
    assert f"format {number}, {whose}" in refused(path)


OWN, SHORTEST, BEST, RACED = 0, 1, 2, 3


def older_tracks(tracks: Tracks, number: int) -> dict[str, np.ndarray]:
    """As formats up to 5 kept them, note by note: 5 as changes of what a way is later than the one before
    it, of the first changes of changes; 3 and 4 as changes of changes of changes."""
    arrays = {
        "track_at": tracks.at_m,
        "track_start": tracks.start_m,
        "track_leaves": tracks.leaves_s,
        "track_reached": (tracks.reached_ms != NOT_REACHED).sum(axis=2).astype(np.int32),
    }
    held = np.maximum.accumulate(np.maximum(tracks.reached_ms, 0), axis=2)
    if number < 5:
        steps = np.diff(np.diff(held, axis=0, prepend=0), axis=2, prepend=0)
        steps = np.diff(steps, axis=2, prepend=0)
        return arrays | {"track_ms": steps.astype(np.int32)}
    later = np.diff(held[[BEST, SHORTEST, OWN, RACED]], axis=0, prepend=0)
    changes = np.diff(later, axis=2, prepend=0)
    changes[0] = np.diff(changes[0], axis=1, prepend=0)
    return arrays | {"track_changes": changes.astype(np.int16)}


def older_file(path: Path, tracks: Tracks, number: int, without: tuple[str, ...] = ()) -> Path:
    """The file at `path` as an older format would have it."""
    with np.load(path) as loaded:
        arrays: dict[str, Any] = {name: loaded[name] for name in loaded.files}
    for name in ("track_begins", "track_turns", *without):
        del arrays[name]
    text = arrays["about"].tobytes().replace(b'"format": 6', b'"format": %d' % number)
    arrays |= older_tracks(tracks, number) | {"about": np.frombuffer(text, dtype=np.uint8)}
    older = path.with_name("older.npz")
    np.savez(older, **arrays)
    return older


@pytest.mark.parametrize("number", [4, 5])
def test_older_files_are_read(recording: Recording, tmp_path: Path, number: int) -> None:
    """The runs alone come out of formats 4 and 5 just the same."""
    path = simrun.save(recording, tmp_path / "r.npz")
    again = simrun.load(older_file(path, recording.tracks, number))
    for name in ("at_m", "start_m", "leaves_s", "reached_ms"):
        kept, was = getattr(again.tracks, name), getattr(recording.tracks, name)
        np.testing.assert_array_equal(kept, was)


def test_a_recording_from_before_racing_is_read_as_what_it_is(
    recording: Recording, tmp_path: Path
) -> None:
    """Format 3 had three ways alone and no columns of racing: nobody races, the fourth part is nothing."""
    path = simrun.save(recording, tmp_path / "r.npz")
    own = recording.tracks
    parts = (own.start_m[:3], own.leaves_s[:3], own.reached_ms[:3])
    newer = (*(f"roster_{column}" for column in ("edge_share", *RACING)), "raced_s")
    again = simrun.load(older_file(path, Tracks(own.at_m, *parts), 3, newer))
    np.testing.assert_array_equal(again.raced_s, again.alone_s)
    np.testing.assert_array_equal(again.tracks.reached_ms[:3], own.reached_ms[:3])
    np.testing.assert_array_equal(again.tracks.reached_ms[3], own.reached_ms[0])
    for name, plain in racing_columns(len(again.roster)).items():
        np.testing.assert_array_equal(getattr(again.roster, name), plain)


def test_whoever_left_keeps_the_own_way_until_then(tmp_path: Path, recording: Recording) -> None:
    """Long differences, gone from the first frame, gone and never back: all come back."""
    still = recording.position_m[:4].copy()
    still[:, 0] = [[0, 0], [300, -300], [0, 0], [np.nan, np.nan]]
    still[:, 1] = np.nan
    cut = {name: getattr(recording, name)[:4] for name in ("speed_cm_s", "wished_cm_s", "times_s")}
    short = replace(recording, position_m=still, **cut)
    back = simrun.load(simrun.save(short, tmp_path / "r.npz"))
    np.testing.assert_allclose(back.position_m[:, 0], still[:, 0], atol=0.005)
    assert np.isnan(back.position_m[1:, 1]).all()


def test_a_race_without_frames_comes_back(tmp_path: Path, recording: Recording) -> None:
    """Only the times were wanted."""
    none = {
        n: getattr(recording, n)[:0] for n in ("position_m", "speed_cm_s", "wished_cm_s", "times_s")
    }
    back = simrun.load(simrun.save(replace(recording, **none), tmp_path / "r.npz"))
    assert back.position_m.shape == (0, len(recording.roster), 2)
    assert simrun.time_lost(back).equals(simrun.time_lost(recording))


def contents(path: Path) -> tuple[dict[str, Any], dict[str, Any]]:
    with np.load(path) as loaded:
        arrays = {name: loaded[name] for name in loaded.files}
    return arrays, json.loads(arrays.pop("about").tobytes())


def rewritten(path: Path, arrays: dict[str, Any], about: Any) -> Path:
    text = about if isinstance(about, str) else json.dumps(about)
    np.savez(path, about=np.frombuffer(text.encode(), dtype=np.uint8), **arrays)
    return path


def test_flipped_bytes_are_refused_or_read_never_a_traceback(
    recording: Recording, tmp_path: Path
) -> None:
    """Three bytes changed anywhere, 300 times: a recording, or BadRecording in one line."""
    good = simrun.save(recording, tmp_path / "good.npz").read_bytes()
    rng, bad, said = np.random.default_rng(0), tmp_path / "bad.npz", []
    for _ in range(300):
        data = bytearray(good)
        for at in rng.integers(len(data), size=3):
            data[at] = rng.integers(256)
        bad.write_bytes(data)
        try:
            simrun.load(bad)
        except BadRecording as error:
            said.append(str(error))
    assert len(said) > 200
    assert not any("\n" in text for text in said)


@pytest.mark.parametrize(
    "about", ["[]", "1", "null", '"x"', "{", '{"format": 1}', "[" * 100_000, ""], ids=range(8)
)
def test_strange_words_in_a_recording_are_refused(
    about: str, recording: Recording, tmp_path: Path
) -> None:
    """No object, no keys, nothing, or nested without end."""
    arrays, _ = contents(simrun.save(recording, tmp_path / "r.npz"))
    refused(rewritten(tmp_path / "r.npz", arrays, about))


@pytest.mark.parametrize(
    ("key", "value"),
    [("seed", float("inf")), ("seed", None), ("best_box", 0), ("best_box", "x"), ("peak_overlap", "x"),
     ("name", 3), ("scenario", "{}"), ("scenario", 3), ("scenario", '{"document": {}}'),
     ("format", None)],
)  # fmt: skip
def test_a_wrong_word_in_a_recording_is_refused(
    key: str, value: object, recording: Recording, tmp_path: Path
) -> None:
    """One word changed."""
    arrays, about = contents(simrun.save(recording, tmp_path / "r.npz"))
    refused(rewritten(tmp_path / "r.npz", arrays, {**about, key: value}))


@pytest.mark.parametrize("shape", [(10**14,), (10**30,), (-5,), (2**40, 2**40)])
def test_an_array_that_claims_terabytes_is_refused(shape: tuple[int, ...], tmp_path: Path) -> None:
    """A small file whose head asks for more than any machine has."""
    head = io.BytesIO()
    words = {"descr": "<f8", "fortran_order": False, "shape": shape}
    np.lib.format.write_array_header_1_0(head, words)
    with zipfile.ZipFile(tmp_path / "claims.npz", "w") as claims:
        claims.writestr("about.npy", head.getvalue() + bytes(100))
    refused(tmp_path / "claims.npz")


@pytest.mark.parametrize(
    "name",
    ["crossing_s", "alone_s", "shortest_s", "best_s", "times_s", "moved", "speed", "wished",
     "track_begins", "track_turns", "roster_box", "roster_team_index",
     "roster_choice", "roster_radius_m"],
)  # fmt: skip
def test_parts_that_do_not_fit_together_are_refused(
    name: str, recording: Recording, tmp_path: Path
) -> None:
    """One row less than there are runners, frames or checkpoints."""
    arrays, about = contents(simrun.save(recording, tmp_path / "r.npz"))
    arrays[name] = arrays[name][:-1]
    refused(rewritten(tmp_path / "r.npz", arrays, about))


@pytest.mark.parametrize(("key", "value"), [("name", ["Ada"]), ("team_names", [])])
def test_names_that_do_not_fit_are_refused(
    key: str, value: list[str], recording: Recording, tmp_path: Path
) -> None:
    """Fewer names than runners, fewer teams than the runners belong to."""
    arrays, about = contents(simrun.save(recording, tmp_path / "r.npz"))
    refused(rewritten(tmp_path / "r.npz", arrays, {**about, key: value}))


HEADS = (b"{(", b"{'" + b"''", b"  x", b"((((" * 500, b"{'descr': (", b"-" * 9000)


@pytest.mark.parametrize("head", HEADS, ids=range(len(HEADS)))
def test_a_head_that_is_no_head_is_refused(head: bytes, tmp_path: Path) -> None:
    """numpy reads the head of an array as a word of Python, and stumbles in odd ways."""
    spoilt = b"\x93NUMPY\x01\x00" + len(head).to_bytes(2, "little") + head + b"\n" + bytes(100)
    with zipfile.ZipFile(tmp_path / "head.npz", "w") as file:
        file.writestr("about.npy", spoilt)
    refused(tmp_path / "head.npz")


def test_a_recording_of_another_engine_is_told(recording: Recording, tmp_path: Path) -> None:
    """An old format is refused with what to do; another engine's is read, and says so."""
    path = simrun.save(recording, tmp_path / "r.npz")
    arrays, about = contents(path)
    old = refused(rewritten(tmp_path / "old.npz", arrays, {**about, "format": 2}))
    assert "an earlier engine" in old
    assert "run the race again with seed 2" in old
    assert simrun.load(path).is_of_this_engine
    other = simrun.load(rewritten(tmp_path / "other.npz", arrays, {**about, "engine": "x" * 24}))
    assert not other.is_of_this_engine
    with pytest.raises(BadInput, match="two states of the engine"):
        page_data(recording, other)
