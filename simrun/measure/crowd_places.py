"""Where along the course is the crowd? Queueing, slow seconds, density and flow, place by place."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from simrun.course.station import progress_m
from simrun.course.strip import Strip
from simrun.measure.crowd import (
    SLOW_S,
    CrowdFigures,
    busiest_flow,
    first_narrowing_m,
    first_narrowing_s,
    frame_s,
    frames_a_second,
    highest_density,
    is_slow,
    slow_seconds,
    squares_by_second,
    strung_out_s,
)
from simrun.measure.places import CoursePlace, lost_by_place
from simrun.state.recording import Recording

Array = NDArray[np.float64]


def crowd_figures(recording: Recording) -> CrowdFigures:
    """How crowded was this race, and where? Up to its last mark, place by place (`course_places`).

    queue_s is the part traffic of the account: of a place the mean over those who came through it, of the
    race the sum of its places, which is the mean of `time_lost` at the last mark where everybody came so far.
    Raises BadRecording where no frames or no alone-runs were kept.
    Check: tests/unit/measure/test_crowd.py (worlds with a known answer), tests/unit/measure/test_account.py.
    """
    lost, whole = lost_by_place(recording), crowd_in_all(recording)
    through = ~np.isnan(lost.traffic_s)
    queue = np.where(through, lost.traffic_s, 0.0).sum(axis=0) / np.maximum(1, through.sum(axis=0))
    at = place_numbers(recording, lost.places)
    by_place = [
        queue,
        slow_by_place(recording, at, len(lost.places)),
        density_by_place(recording, at, len(lost.places)),
        flow_by_place(recording.strip, lost.places, lost.passed.field_s[:, 1:]),
    ]
    return replace(whole, queue_s=float(queue.sum()), by_place=np.stack(by_place, axis=1))


def crowd_in_all(recording: Recording) -> CrowdFigures:
    """The same of the whole course alone, without what needs alone-runs: queue_s is nan, no place is told."""
    slow = slow_seconds(recording)
    most, x_m, y_m, when_s = highest_density(recording)
    return CrowdFigures(
        slowed_share=float((slow >= SLOW_S - 1e-9).mean()),
        queue_s=float("nan"),
        slow_s=float(slow.mean()),
        density_per_m2=most,
        density_x_m=x_m,
        density_y_m=y_m,
        density_s=when_s,
        flow_per_s_m=busiest_flow(first_narrowing_s(recording), first_narrowing_m(recording.strip)),
        strung_out_s=strung_out_s(recording),
    )


def place_numbers(recording: Recording, places: tuple[CoursePlace, ...]) -> NDArray[np.int64]:
    """On which place of the course is everybody at every moment? (T, N); who has left is on the last one."""
    ends = np.array([place.to_m for place in places[:-1]])
    return np.searchsorted(ends, progress_m(recording.strip, recording.position_m), side="right")


def slow_by_place(recording: Recording, at: NDArray[np.int64], count: int) -> Array:
    """Seconds below half of the wished speed on every place, mean of the field: (P,)."""
    frames = np.bincount(at[is_slow(recording)], minlength=count)
    return np.asarray(frames * frame_s(recording) / len(recording.roster))


def density_by_place(recording: Recording, at: NDArray[np.int64], count: int) -> Array:
    """The most people on 1 m2, mean of 1 s, on every place: (P,), nan where nobody was counted."""
    most = np.full(count, np.nan)
    for _, squares in squares_by_second(recording, at):
        np.fmax.at(most, squares.place, squares.count / frames_a_second(recording))
    return most


def flow_by_place(strip: Strip, places: tuple[CoursePlace, ...], passed_s: Array) -> Array:
    """How many a second and metre of width leave every place in its busiest 10 s? (P,), nan for standing.

    passed_s (N, P): when everybody came to the end of every place; the width is that of the course there.
    """
    widths = np.interp([place.to_m for place in places], strip.station_m, strip.width_m)
    flows = [busiest_flow(s, float(w)) for s, w in zip(passed_s.T, widths, strict=True)]
    return np.array([np.nan, *flows[1:]])
