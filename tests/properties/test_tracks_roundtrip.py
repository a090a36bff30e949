"""A drawn course through GPX or GeoJSON and back keeps its length within 0.1 %."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import simrun
from simrun.course.build import build_strip
from simrun.course.drawing.drawn_frame import Frame
from simrun.course.source import CourseSource, Drawing
from simrun.course.strip import Strip
from simrun.course.tracks.track_drawing import drawing_of, to_gpx
from simrun.course.tracks.track_file import read_tracks
from simrun.course.tracks.track_tidy import along_m, trail_of

TOP = Path(__file__).parents[2]
SHARE = 0.001


def strip_of(text: str, width_m: float) -> Strip:
    return build_strip(CourseSource(width_m, 8.0, drawing=Drawing(text, "t", width_m=width_m)))


def middle_m(strip: Strip) -> float:
    here = int(np.abs(strip.station_m).argmin())
    return float(along_m(strip.middle_m[here : strip.finish_cut + 1])[-1])


def through(data: bytes, width_m: float) -> Strip:
    tracks = read_tracks(data)
    return strip_of(drawing_of(trail_of(tracks), tracks, width_m, "metric").text, width_m)


@st.composite
def centre_lines(draw):
    """A width, and the text of a winding centre line anywhere below 80 degrees."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    width = float(rng.uniform(2, 12))
    bends = np.clip(rng.normal(0, 0.35, int(rng.integers(8, 60))), -0.9, 0.9)
    heading = np.clip(np.cumsum(bends), -1.5, 1.5)
    step = rng.uniform(15, 30, len(bends))[:, None]
    points = np.cumsum(step * np.stack([np.cos(heading), np.sin(heading)], axis=1), axis=0)
    frame = Frame(draw(st.floats(-180, 180)), draw(st.floats(-80, 80)))
    rows = frame.to_degree(points).tolist()
    return width, json.dumps({"type": "LineString", "coordinates": rows})


@settings(max_examples=25, deadline=None)
@given(centre_lines())
def test_a_course_through_gpx_keeps_both_its_lengths(made):
    """The middle, and the line that a wheel would measure."""
    width, text = made
    strip = strip_of(text, width)
    back = through(to_gpx(strip, "a & <b>").encode(), width)
    assert middle_m(back) == pytest.approx(middle_m(strip), rel=SHARE)
    assert back.length_m == pytest.approx(strip.length_m, rel=SHARE)


@settings(max_examples=25, deadline=None)
@given(centre_lines())
def test_a_course_through_geojson_keeps_both_its_lengths(made):
    width, text = made
    strip, back = strip_of(text, width), through(text.encode(), width)
    assert middle_m(back) == pytest.approx(middle_m(strip), rel=SHARE)
    assert back.length_m == pytest.approx(strip.length_m, rel=SHARE)


def test_the_shipped_drawing_through_gpx_keeps_the_length_of_its_middle():
    strip = simrun.read(TOP / "scenarios" / "ostrel_common.toml").strip
    tracks = read_tracks(to_gpx(strip, "Ostrel").encode())
    got = drawing_of(trail_of(tracks), tracks, 6.0, "metric")
    assert got.length_m == pytest.approx(middle_m(strip), rel=SHARE)
    assert {name for name, _ in tracks.places} == {mark.name for mark in strip.landmarks}
