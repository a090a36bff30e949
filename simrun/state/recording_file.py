"""How is a recording kept on disk, and read again?

One npz file without pickled objects: positions as whole centimetres, the first frame and the
differences from frame to frame; the scenario as text. Strangers' files are measured before they are
unpacked. A zip's own checksums tell of every bit that was turned over later.
"""

from __future__ import annotations

import io
import json
import lzma
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from tokenize import TokenError
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, BadRecording
from simrun.base.writing import written_beside
from simrun.runners.roster import ENDS, Roster, racing_columns
from simrun.scenario.scenario import Scenario
from simrun.state.arrays import GONE
from simrun.state.fitting import BY_MARK, TEXTS, fitting, roster_arrays
from simrun.state.frame_budget import too_large
from simrun.state.packed_tracks import packed_tracks, unpacked_tracks
from simrun.state.recording import Recording
from simrun.state.tracks import Tracks

FORMAT, BEFORE_RACING = 6, 3
OLDER = (5, 4, BEFORE_RACING)
"""Read as what they are: 5 and 4 kept the runs alone note by note, in 3 nobody raced for places."""

CENTIMETRE_M = 0.01
LARGE = 2**30
"""Bytes of an array from which the zip keeps room for a size of more than 2 GB."""

TIGHT, TIGHTLY = ("track_begins", "track_turns"), zipfile.ZIP_LZMA
"""Kept as tightly as the standard library can; anything that reads an npz file reads it."""

GROUP = 16
"""So many runners at once are packed."""

DAMAGE = (
    *(ValueError, LookupError, TypeError, AttributeError, ArithmeticError, EOFError),
    *(RuntimeError, MemoryError, SyntaxError, TokenError),
    *(zipfile.BadZipFile, zlib.error, lzma.LZMAError, BadInput),
)
"""What reading a damaged or a strange file sets off (flipped bytes, a head that claims terabytes)."""


def save(recording: Recording, path: str | Path) -> Path:
    """Write a recording; positions are kept to the centimetre, everything else in full.

    Raises CannotWrite. Check: tests/unit/state/test_recording_file.py.
    """
    arrays = {name: getattr(recording, name) for name in BY_MARK}
    arrays |= {"times_s": recording.times_s, "stood_s": recording.stood_s}
    arrays["stood_m"] = recording.stood_m
    arrays |= packed_tracks(recording.tracks)
    arrays |= _packed_positions(recording.position_m)
    arrays |= {"speed": recording.speed_cm_s, "wished": recording.wished_cm_s}
    arrays |= {f"roster_{n}": getattr(recording.roster, n) for n in roster_arrays()}
    about = {
        "format": FORMAT,
        "version": recording.version,
        "engine": recording.engine,
        "best_box": recording.best_box,
        "seed": recording.seed,
        "peak_overlap": recording.peak_overlap,
        "scenario": recording.scenario.to_json(),
        **{name: list(getattr(recording.roster, name)) for name in TEXTS},
    }
    arrays["about"] = np.frombuffer(json.dumps(about).encode(), dtype=np.uint8)
    with written_beside(path) as beside, beside.open("wb") as file:
        _write_arrays(file, arrays)
    return Path(path)


def _write_arrays(file: IO[bytes], arrays: dict[str, NDArray[Any]]) -> None:
    """As `np.savez_compressed`; the tracks, many small numbers that come again, twice as tight."""
    with zipfile.ZipFile(file, "w") as packed:
        for name, array in arrays.items():
            entry = zipfile.ZipInfo(f"{name}.npy")
            entry.compress_type = TIGHTLY if name in TIGHT else zipfile.ZIP_DEFLATED
            with packed.open(entry, "w", force_zip64=array.nbytes >= LARGE) as out:
                np.lib.format.write_array(out, np.asanyarray(array), allow_pickle=False)


def load(path: str | Path) -> Recording:
    """Read a recording; raises BadRecording in one line where it is not one."""
    try:
        arrays = _read_arrays(Path(path))
        about = json.loads(arrays.pop("about").tobytes())
        _check_format(about)
        if about["format"] == BEFORE_RACING:
            arrays = _with_nobody_racing(arrays)
        return fitting(_recording(arrays, about))
    except BadRecording as bad:
        raise BadRecording(f"{path}: {bad}") from bad
    except OSError as refused:
        raise BadRecording(f"{path}: cannot be read: {refused.strerror or refused}") from refused
    except DAMAGE as e:
        raise BadRecording(f"{path}: not a recording of this package, or a damaged one") from e


def _read_arrays(path: Path) -> dict[str, NDArray[Any]]:
    data = path.read_bytes()
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        unpacked = sum(entry.file_size for entry in packed.infolist())
    if wrong := too_large(unpacked):
        raise BadRecording(wrong)
    with np.load(io.BytesIO(data), allow_pickle=False) as loaded:
        return {name: loaded[name] for name in loaded.files}


def _check_format(about: dict[str, Any]) -> None:
    if about.get("format") not in (FORMAT, *OLDER):
        found = about.get("format")
        older = isinstance(found, int) and found < FORMAT
        whose = (
            "an earlier engine's, whose runners ran by other laws" if older else "another version's"
        )
        again = "run the race again" + _told_seed(about)
        raise BadRecording(
            f"a recording of format {found!r}, {whose}; this version reads {FORMAT}: {again}"
        )


def _with_nobody_racing(arrays: dict[str, NDArray[Any]]) -> dict[str, NDArray[Any]]:
    """The arrays of an older file, with those that a race in which nobody races for places has today."""
    count = len(arrays["roster_cruise_m_s"])
    plain = {f"roster_{name}": value for name, value in racing_columns(count).items()}
    # Nor had anybody a place of their own in a bend without a name.
    plain["roster_edge_share"] = np.zeros(count)
    return arrays | plain | {"raced_s": arrays["alone_s"]}


def _tracks(arrays: dict[str, NDArray[Any]], about: dict[str, Any]) -> Tracks:
    """The runs alone; where nobody raced for places yet, the fourth way is the own one."""
    tracks = unpacked_tracks(arrays)
    if about["format"] != BEFORE_RACING:
        return tracks
    parts = (tracks.start_m, tracks.leaves_s, tracks.reached_ms)
    return Tracks(tracks.at_m, *(np.concatenate([part, part[:1]]) for part in parts))


def _told_seed(about: dict[str, Any]) -> str:
    """With which seed, where the file tells one."""
    seed = about.get("seed")
    return f" with seed {seed}" if isinstance(seed, int) else ""


def _recording(arrays: dict[str, NDArray[Any]], about: dict[str, Any]) -> Recording:
    columns: dict[str, Any] = {name: tuple(about[name]) for name in TEXTS}
    # Nobody was told a turn's ends before there were such orders.
    plain = {f"roster_{name}": np.zeros_like(arrays["roster_inside_m"]) for name in ENDS}
    plain["roster_keeps"] = np.zeros((len(arrays["roster_inside_m"]), 0))
    columns |= {name: (plain | arrays)[f"roster_{name}"] for name in roster_arrays()}
    roster = Roster(**columns)
    return Recording(
        scenario=Scenario.from_json(about["scenario"]),
        seed=int(about["seed"]),
        version=str(about["version"]),
        engine=str(about["engine"]),
        best_box=int(about["best_box"]),
        tracks=_tracks(arrays, about),
        stood_s=arrays["stood_s"],
        stood_m=arrays["stood_m"],
        roster=roster,
        times_s=arrays["times_s"],
        position_m=_positions(arrays),
        speed_cm_s=arrays["speed"],
        wished_cm_s=arrays["wished"],
        peak_overlap=float(about["peak_overlap"]),
        **{name: arrays[name] for name in BY_MARK},
    )


def _packed_positions(position_m: NDArray[np.float32]) -> dict[str, NDArray[Any]]:
    """First frame in whole centimetres, then differences; a gone runner keeps its last place."""
    if not len(position_m):
        return {
            "first": np.zeros(position_m.shape[1:], np.int32),
            "moved": position_m.astype(np.int16),
        }
    frames, count = position_m.shape[:2]
    first, moved = np.empty((count, 2), np.int32), np.empty((frames - 1, count, 2), np.int16)
    for some in _few_at_once(count):
        first[some], moved[:, some] = _packed_few(position_m[:, some])
    return {"first": first, "moved": moved}


def _few_at_once(count: int) -> Iterator[slice]:
    """Runners in groups, so that what is worked on needs little room beside what is kept."""
    return (slice(begin, begin + GROUP) for begin in range(0, count, GROUP))


def _packed_few(position_m: NDArray[np.float32]) -> tuple[NDArray[np.int32], NDArray[np.int16]]:
    gone = np.isnan(position_m[:, :, 0])
    whole = np.round(np.nan_to_num(position_m) / CENTIMETRE_M).astype(np.int32)
    last = np.maximum.accumulate(np.where(gone, 0, np.arange(len(gone))[:, None]), axis=0)
    whole = np.take_along_axis(whole, last[:, :, None], axis=0)
    moved = np.diff(whole, axis=0).astype(np.int16)
    moved[gone[1:]] = GONE
    return whole[0], moved


def _positions(arrays: dict[str, NDArray[Any]]) -> NDArray[np.float32]:
    first, moved = arrays["first"], arrays["moved"]
    if moved.shape[0] == 0 and not len(arrays["times_s"]):
        return np.zeros((0, *first.shape), dtype=np.float32)
    if moved.shape[1:] != first.shape or (first.dtype, moved.dtype) != (np.int32, np.int16):
        raise ValueError("moves of other runners, or of another kind")
    position = np.empty((len(moved) + 1, *first.shape), dtype=np.float32)
    for some in _few_at_once(len(first)):
        position[:, some] = _few_positions(first[some], moved[:, some].astype(np.int32))
    return position


def _few_positions(first: NDArray[np.int32], moved: NDArray[np.int32]) -> NDArray[np.float32]:
    gone = np.concatenate([np.zeros((1, *moved.shape[1:]), bool), moved == GONE])
    whole = np.concatenate([first[None], np.where(moved == GONE, 0, moved)]).cumsum(axis=0)
    position = (whole * CENTIMETRE_M).astype(np.float32)
    position[gone] = np.nan
    return position
