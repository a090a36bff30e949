"""A recording on disk: what comes back, and what is refused in one line."""

from __future__ import annotations

import zipfile
from pathlib import Path

import numpy as np
import pytest

import simrun
from simrun.errors import BadRecording
from simrun.state.recording import Recording

DUAL = Path(__file__).parents[2] / "scenarios" / "dual_meet.toml"


@pytest.fixture(scope="module")
def recording() -> Recording:
    return simrun.race(simrun.read(DUAL), seed=2)


def test_what_is_saved_comes_back(recording: Recording, tmp_path: Path) -> None:
    """Positions to half a centimetre, everything else in full; the same table of losses."""
    back = simrun.load(simrun.save(recording, tmp_path / "r.npz"))
    gone = np.isnan(recording.position_m)
    assert np.array_equal(np.isnan(back.position_m), gone)
    assert np.nanmax(np.abs(back.position_m - recording.position_m)) < 0.0051
    for name in ("crossing_s", "alone_s", "shortest_s", "best_s", "best_box", "times_s"):
        np.testing.assert_array_equal(getattr(back, name), getattr(recording, name))
    assert back.roster.name == recording.roster.name
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


def test_a_bomb_is_measured_before_it_is_unpacked(tmp_path: Path) -> None:
    """A small file that unpacks to more than a gigabyte is refused unread."""
    with zipfile.ZipFile(tmp_path / "bomb.npz", "w", zipfile.ZIP_DEFLATED) as bomb:
        for part in range(11):
            with bomb.open(f"{part}.npy", "w", force_zip64=True) as file:
                for _ in range(100):
                    file.write(bytes(2**20))
    assert "GB" in refused(tmp_path / "bomb.npz")


def test_pickled_objects_are_refused(tmp_path: Path) -> None:
    """An array of objects would run a stranger's code on reading."""
    np.savez(tmp_path / "pickled.npz", about=np.array([{"format": 1}], dtype=object))
    refused(tmp_path / "pickled.npz")


def test_another_format_is_refused_by_its_number(recording: Recording, tmp_path: Path) -> None:
    """A later version's file says so."""
    path = simrun.save(recording, tmp_path / "r.npz")
    with np.load(path) as loaded:
        arrays = {name: loaded[name] for name in loaded.files}
    text = arrays["about"].tobytes().replace(b'"format": 1', b'"format": 9')
    arrays["about"] = np.frombuffer(text, dtype=np.uint8)
    np.savez(path, **arrays)
    assert "format 9" in refused(path)
