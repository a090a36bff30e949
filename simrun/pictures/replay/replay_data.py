"""What does the replay page carry of a race? Ground, people and trajectories, as one JSON text.

Positions are whole centimetres: the first frame, then differences, two bytes each, deflated, in base64.
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
from simrun.state.recording import Recording

Array = NDArray[np.float64]

CENTIMETRE_M = 0.01
STATION_STEP_M = 1.0
SEARCH_M = 16
"""Nobody runs further along the course than this between two looks, a second apart."""


def page_data(recording: Recording, other: Recording | None = None) -> dict[str, Any]:
    """Everything the page shows; `other`: the same people with another plan, shown as ghosts.

    Raises BadInput where the two are not of the same people on the same course.
    """
    strip = recording.strip
    data = {
        "name": recording.scenario.name,
        "invented": recording.scenario.invented,
        "units": recording.scenario.units,
        "seed": recording.seed,
        "ground": _ground(recording, strip),
        "race": _race(recording),
        "other": None,
    }
    if other is not None:
        _check_alike(recording, other)
        data["other"] = _race(other)
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
        "turns": [
            {"name": gate.name, "station": round(float(strip.station_m[gate.first_cut]), 1)}
            for gate in strip.gates
            if gate.kind == "turn" and gate.lap == 1
        ],
        "landmarks": [
            {"name": mark.name, "station": round(mark.station_m, 1)} for mark in strip.landmarks
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


def _race(recording: Recording) -> dict[str, Any]:
    roster, ours = recording.roster, recording.scenario.our_team
    lost = recording.crossing_s - recording.best_s
    stations = stations_m(recording)
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
        "frame_s": float(np.diff(recording.times_s[:2])[0]) if len(recording.times_s) > 1 else 0.1,
        "frames": len(recording.times_s),
        "crossing": _cells(recording.crossing_s, 2),
        "lost": _cells(lost, 1),
        "position": packed_cm(recording.position_m),
        "station_s": 1.0,
        "stations": len(stations),
        "station": _deflated(np.round(10 * stations).astype("<i2")),
    }


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
        "bends": _deflated(bends.astype("<i2")),
    }


def _deflated(values: NDArray[Any]) -> str:
    """Little-endian whole numbers, high bytes apart from low bytes, deflated, in base64."""
    flat = np.ascontiguousarray(values.astype("<i2")).view(np.uint8).reshape(-1, 2)
    return base64.b64encode(zlib.compress(flat.T.tobytes(), 6)).decode()


def stations_m(recording: Recording) -> Array:
    """How far along the measured line is everybody, second by second? (S, N), nan before nobody.

    The nearest place of the course's middle ahead of or a little behind the one before, so that a lap is not
    mistaken for another. Check: tests/unit/pictures/test_page_data.py (against the crossing times).
    """
    strip = recording.strip
    step = max(1, round(1.0 / max(1e-6, float(np.diff(recording.times_s[:2], append=0.1)[0]))))
    at = np.arange(strip.station_m[0], strip.station_m[-1], STATION_STEP_M)
    middle = np.stack(
        [np.interp(at, strip.station_m, strip.middle_m[:, k]) for k in (0, 1)], axis=1
    )
    position = recording.position_m[::step]
    index = np.full(position.shape[1], int(-at[0] / STATION_STEP_M))
    window = np.arange(-2, SEARCH_M + 1)
    found = np.empty(position.shape[:2])
    for f, here in enumerate(position):
        near = np.clip(index[:, None] + window, 0, len(at) - 1)
        away = np.hypot(*(middle[near] - here[:, None, :]).transpose(2, 0, 1))
        best = near[np.arange(len(near)), np.nan_to_num(away, nan=np.inf).argmin(axis=1)]
        index = np.where(np.isnan(here[:, 0]), index, best)
        found[f] = at[index]
    return found


def _points(points_m: NDArray[Any]) -> list[float]:
    """x, y, x, y ... to the centimetre."""
    flat: list[float] = np.round(np.asarray(points_m, dtype=float), 2).ravel().tolist()
    return flat


def _cells(values: NDArray[Any], digits: int) -> list[list[float | None]]:
    """Rows of numbers, None where there is none."""
    rounded = np.round(np.asarray(values, dtype=float), digits)
    return [[None if v != v else float(v) for v in row] for row in rounded]
