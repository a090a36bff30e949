"""What does the replay page carry of a race? Ground, people and trajectories, as one JSON text.

Positions are whole centimetres: the first frame, then differences, two bytes each, runner by runner (one's
own moments are more alike than everybody's at one moment), deflated, in base64.
"""

from __future__ import annotations

import base64
import json
import zlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.course.strip import Strip
from simrun.pictures.replay.looks import look_of
from simrun.pictures.story.losing import LOSES_S_S, PARTS, Losing
from simrun.pictures.story.moments import box_depth_m
from simrun.state.recording import Recording

Array = NDArray[np.float64]

CENTIMETRE_M = 0.01
LEVEL_STEP_S = 0.1
"""So often the page keeps how everybody is marked: as often as a race is recorded."""

MOST_PLACES, MOST_SECONDS = 1_000_000, 200_000
"""Of a longer or larger race the page keeps every second or third frame, and how far everybody is and what
they lost every second or third second: it stays below 1.5 MB."""


def page_data(recording: Recording, other: Recording | None = None) -> dict[str, Any]:
    """Everything the page shows; `other`: the same people with another plan, shown over it.

    Raises BadInput where the two are not of the same people on the same course.
    """
    strip = recording.strip
    data = {
        "name": recording.scenario.name,
        "invented": recording.scenario.invented,
        "units": recording.scenario.units,
        "seed": recording.seed,
        "ground": _ground(recording, strip),
        "race": _race(recording, 1 if other is None else 2),
        "other": None,
    }
    if other is not None:
        _check_alike(recording, other)
        data["other"] = _race(other, 2)
    return data


def page_text(data: dict[str, Any]) -> str:
    """The data as JSON that no name in it can break out of: it holds no <, > or &."""
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _check_alike(one: Recording, other: Recording) -> None:
    same_people = one.roster.name == other.roster.name and one.seed == other.seed
    if one.engine != other.engine:
        found = "recordings of two states of the engine"
        raise BadInput(Problem("beside", found, "races run by one engine: run both again"))
    same_ground = one.strip.left_m.shape == other.strip.left_m.shape and np.allclose(
        one.strip.left_m, other.strip.left_m
    )
    if not (same_people and same_ground):
        found = "a recording of other people, another seed or another course"
        allowed = "the same race day and seed with another plan"
        raise BadInput(Problem("beside", found, allowed))


def _ground(recording: Recording, strip: Strip) -> dict[str, Any]:
    line = recording.scenario.start_line
    return {
        "left": _points(strip.left_m),
        "right": _points(strip.right_m),
        "left_edge": strip.left_edge.tolist(),
        "right_edge": strip.right_edge.tolist(),
        "station": np.round(strip.station_m, 2).tolist(),
        "finish": strip.finish_cut,
        "length": round(strip.length_m, 1),
        "obstacles": np.round(strip.obstacles_m, 2).tolist(),
        "gates": [
            {
                "name": gate.name,
                "station": round(float(strip.station_m[gate.first_cut]), 1),
                "until": round(float(strip.station_m[gate.last_cut]), 1),
                "inside": int(gate.inside),
                "lap": gate.lap,
            }
            for gate in strip.gates
        ],
        "depth": round(box_depth_m(recording), 1),
        "landmarks": [
            {
                "name": mark.name,
                "station": round(mark.station_m, 1),
                "look": look_of(mark.name),
            }
            for mark in strip.landmarks
        ],
        "checkpoints": [
            {"name": mark.name, "station": round(mark.station_m, 1)} for mark in strip.checkpoints
        ],
        "line": _points(line.line_m),
        "boxes": [
            {"number": box.number, "ends": _points(np.stack([box.left_m, box.right_m]))}
            for box in line.boxes
        ],
    }


def _race(recording: Recording, races: int) -> dict[str, Any]:
    """One race of so many on the page."""
    roster, ours = recording.roster, recording.scenario.our_team
    lost = recording.crossing_s - recording.best_s
    stations, every = stations_m(recording), frames_apart(recording, races)
    times, position = recording.times_s[::every], recording.position_m[::every]
    return {
        "teams": list(roster.team_names),
        "ours": roster.team_names.index(ours) if ours else -1,
        "runners": [
            {
                "name": roster.name[i],
                "team": int(roster.team_index[i]),
                "box": int(roster.box[i]),
                "row": int(roster.row[i]),
                "line": str(roster.line[i]),
                "pace": round(float(roster.cruise_m_s[i]), 3),
                "radius": round(float(roster.radius_m[i]), 2),
            }
            for i in range(len(roster))
        ],
        "frame_s": float(np.diff(times[:2])[0]) if len(times) > 1 else 0.1,
        "frames": len(times),
        "crossing": _cells(recording.crossing_s, 2),
        "lost": _cells(lost, 1),
        "position": packed_cm(position),
        "station_s": seconds_apart(recording),
        "stations": len(stations),
        "station": _changes(np.round(10 * stations)),
        **_losses(Losing(recording)),
    }


def frames_apart(recording: Recording, races: int = 1) -> int:
    """Every so many-th frame is kept, of so many races on one page."""
    places = races * recording.position_m.shape[0] * len(recording.roster)
    return max(1, -(-places // MOST_PLACES))


def seconds_apart(recording: Recording) -> float:
    """So many seconds lie between two that are kept."""
    last = float(recording.times_s[-1]) if len(recording.times_s) else 0.0
    return float(max(1, -(-round(last * len(recording.roster)) // MOST_SECONDS)))


def packed_cm(position_m: NDArray[np.float32]) -> dict[str, Any]:
    """Positions (T, N, 2) as whole centimetres: the first frame and what changed, frame after frame.

    Who has left keeps the last place; `until` (N,) says how many frames somebody is there.
    """
    whole = np.round(np.asarray(position_m, dtype=float) / CENTIMETRE_M)
    there = ~np.isnan(whole[:, :, 0])
    until = np.where(there.any(axis=0), there.shape[0] - there[::-1].argmax(axis=0), 0)
    for f in range(1, len(whole)):
        gone = ~there[f]
        whole[f, gone] = whole[f - 1, gone]
    whole = np.nan_to_num(whole).astype(np.int64)
    steps = np.diff(whole, axis=0)
    if np.abs(steps).max(initial=0) > 32767:
        raise BadInput(Problem("recording", "a runner who jumps 300 m", "frames closer together"))
    # Differences of differences are small: runners seldom change speed.
    bends = np.diff(steps, axis=0, prepend=0)
    return {
        "first": whole[0].ravel().tolist(),
        "until": until.tolist(),
        "bends": _deflated(_by_runner(bends)),
    }


def _deflated(values: NDArray[Any]) -> str:
    """Little-endian whole numbers, high bytes apart from low bytes, deflated, in base64."""
    flat = np.ascontiguousarray(values.astype("<i2")).view(np.uint8).reshape(-1, 2)
    return base64.b64encode(zlib.compress(flat.T.tobytes(), 6)).decode()


def stations_m(recording: Recording) -> Array:
    """How far along the measured line is everybody, every so many seconds? (S, N); who has left stays there.

    Check: tests/unit/pictures/test_page_data.py (against the crossing times).
    """
    from simrun.course.station import progress_m

    frame_s = float(np.diff(recording.times_s[:2], append=0.1)[0])
    step = max(1, round(seconds_apart(recording) / frame_s))
    found = progress_m(recording.strip, recording.position_m)[::step]
    last = np.maximum.accumulate(
        np.where(np.isnan(found), 0, np.arange(len(found))[:, None]), axis=0
    )
    return np.nan_to_num(np.take_along_axis(found, last, axis=0))


def page_levels(losing: Losing) -> NDArray[np.int8]:
    """How is everybody marked as losing, every LEVEL_STEP_S? (S, N)"""
    return losing.levels(_every(losing, LEVEL_STEP_S))


def _every(losing: Losing, step_s: float) -> Array:
    last = float(losing.recording.times_s[-1]) if len(losing.recording.times_s) else 0.0
    return np.asarray(np.arange(int(last / step_s + 1e-9) + 1) * step_s)


def _losses(losing: Losing) -> dict[str, Any]:
    """The account as the page keeps it: hundredths of seconds lost, part by part, as changes;
    the levels of losing; and when a whole second went, in tenths, and whose."""
    t_s = _every(losing, seconds_apart(losing.recording))
    parts = np.nan_to_num(losing.parts_s(t_s))
    when, whose = losing.gone
    tenths = np.round(10 * when).astype(np.int64)
    return {
        "parts": list(PARTS),
        "lost_parts": [_changes(np.round(100 * part)) for part in parts],
        "level_s": LEVEL_STEP_S,
        "loses": list(LOSES_S_S),
        "levels": _deflated(_by_runner(page_levels(losing))),
        "gone": [_changes(tenths), _deflated(whose)],
    }


def _changes(values: NDArray[Any]) -> str:
    """Whole numbers (S, ...) as the first and the changes from one to the next, deflated."""
    changes = np.diff(values.astype(np.int64), axis=0, prepend=np.zeros_like(values[:1], np.int64))
    if np.abs(changes).max(initial=0) > 32767:
        raise BadInput(Problem("recording", "300 s lost in one second", "a recording of a race"))
    return _deflated(_by_runner(changes))


def _by_runner(values: NDArray[Any]) -> NDArray[Any]:
    """(S, ...) as (..., S)."""
    return values.reshape(len(values), -1).T


def _points(points_m: NDArray[Any]) -> list[float]:
    """x, y, x, y ... to the centimetre."""
    flat: list[float] = np.round(np.asarray(points_m, dtype=float), 2).ravel().tolist()
    return flat


def _cells(values: NDArray[Any], digits: int) -> list[list[float | None]]:
    """Rows of numbers, None where there is none."""
    rounded = np.round(np.asarray(values, dtype=float), digits)
    return [[None if v != v else float(v) for v in row] for row in rounded]
