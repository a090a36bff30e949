"""The unrolled course: left is up, who is far apart gets a second window, nothing is too small to read."""

from __future__ import annotations

import numpy as np
import pytest

from simrun.pictures.film.painter import Painter
from simrun.pictures.ink.colours import ink
from simrun.pictures.ink.view import View
from simrun.pictures.map.unrolled import (
    LEAST_PX,
    along_and_across,
    drawn_width,
    edge_at,
    pieces,
    share_across,
)
from simrun.state.recording import Recording
from tests.helpers.recordings import shipped


@pytest.fixture(scope="module")
def dual() -> Recording:
    return shipped("dual_meet", 1)


@pytest.mark.parametrize("share", [0.0, 0.25, 1.0])
def test_a_place_on_the_course_comes_back(dual: Recording, share: float) -> None:
    """Laid down by the strip itself at a station and a share, read back; bends too."""
    stations = np.linspace(5.0, dual.strip.length_m - 5.0, 60)
    points = np.array([dual.strip.point_at(float(at), share) for at in stations])
    np.testing.assert_allclose(share_across(dual.strip, points, stations), share, atol=0.02)


def test_everybody_is_on_the_ribbon(dual: Recording) -> None:
    """Between the edges but for a shoulder, in every frame; along as the marks were crossed."""
    along, across = along_and_across(dual.strip, dual.position_m)
    inside = (across > -0.1) & (across < 1.1)
    assert inside[np.isfinite(across)].mean() > 0.995
    mark = dual.strip.checkpoints[0]
    for i, crossed in enumerate(dual.crossing_s[:, 0]):
        here = np.interp(crossed, dual.times_s, along[:, i])
        assert here == pytest.approx(mark.station_m, abs=0.2)


def test_a_boardwalk_can_be_read_beside_a_start_field() -> None:
    """Never below forty pixels, wider ground wider, and two metres not as wide as sixty."""
    widths = drawn_width(np.array([0.8, 2.0, 4.0, 12.0, 60.0, 150.0]))
    assert widths.min() >= LEAST_PX
    assert (np.diff(widths) >= 0).all()
    assert widths[1] < widths[3] < widths[4]


def test_who_is_far_apart_gets_a_second_window() -> None:
    """All of them are in one of the two, and a lap's length does not make them small."""
    together, apart = np.array([100.0, 110.0, 130.0]), np.array([100.0, 110.0, 600.0])
    (one,) = pieces(together, False, 632, 6.0, 6)
    assert np.isfinite(one.columns(together)).all()
    two = pieces(apart, True, 632, 6.0, 6)
    seen = np.array([np.isfinite(piece.columns(apart)) for piece in two])
    assert (seen.sum(axis=0) == 1).all()
    assert min(piece.px_m for piece in two) == 6.0
    assert two[0].left_px + two[0].width_px < two[1].left_px


def test_windows_that_would_meet_are_one() -> None:
    """A little too far apart for one window at the usual zoom: one drawn smaller, and nobody shown twice."""
    here = np.array([0.0, 31.0, 62.0, 93.0])
    (one,) = pieces(here, True, 632, 6.0, 6)
    assert np.isfinite(one.columns(here)).all()
    assert one.px_m < 6.0
    assert len(pieces(here * 2, True, 632, 6.0, 6)) == 2


def test_ours_are_on_the_ribbon_of_every_frame(dual: Recording) -> None:
    """In one of its windows, and drawn there in their own ink; no dot below six pixels."""
    painter = Painter(dual, View())
    part, ours = painter.ribbon_part, painter.our_team
    for frame in range(0, len(painter), 12):
        spots = [part.spots(frame, piece) for piece in part.windows(frame)]
        here = np.isfinite(painter.moments.position_m[frame, :, 0]) & ours
        found = np.array([np.isfinite(spot[:, 0]) for spot in spots]).any(axis=0)
        assert found[here].all(), frame
        assert (part.picture(frame, painter.kinds(frame)) == ink("ours")).any()


def test_edges_are_those_of_the_ground(dual: Recording) -> None:
    """The kind of the cell a place lies in; nothing stands before the line."""
    strip = dual.strip
    middles = (strip.station_m[:-1] + strip.station_m[1:]) / 2
    wide = np.diff(strip.station_m) > 1e-6
    np.testing.assert_array_equal(
        edge_at(strip, strip.left_edge, middles)[wide], strip.left_edge[wide]
    )
    assert edge_at(strip, strip.left_edge, np.array([strip.station_m[0] - 5.0]))[0] == 0
