"""The moving picture: opened, counted, and looked at by the pixel."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import simrun
from simrun.base.errors import BadInput
from simrun.pictures.film.painter import Painter
from simrun.pictures.film.stills import still
from simrun.pictures.ink.colours import INKS, ink, palette
from simrun.pictures.ink.view import AFTER_S, LONGER_S, View
from simrun.state.recording import Recording
from tests.helpers.recordings import shipped

MOST_BYTES = 8_000_000


@pytest.fixture(scope="module")
def farm() -> Recording:
    return shipped("ferry_meadow", 1)


@pytest.fixture(scope="module")
def dual() -> Recording:
    return shipped("dual_meet", 1)


@pytest.mark.parametrize(
    "name",
    [
        pytest.param("ferry_meadow", marks=pytest.mark.slow),
        pytest.param("ostrel_common", marks=pytest.mark.slow),
        "dual_meet",
    ],
)
def test_the_start_fits_into_eight_megabytes_and_waits_where_it_is_decided(
    name: str, tmp_path: Path
) -> None:
    """800 x 450, 90 s of clock or until the throat and the first turn soon after, at most 8 MB.

    Every frame lasts a tenth of a second but for those at which half of our team is there.
    """
    recording = shipped(name, 1)
    painter = Painter(recording)
    path = simrun.animate(recording, tmp_path / "race.gif")
    assert path.stat().st_size <= MOST_BYTES
    held = []
    with Image.open(path) as picture:
        assert picture.size == (800, 450)
        for frame in range(picture.n_frames):
            picture.seek(frame)
            held.append(picture.info["duration"])
    assert len(held) == len(painter)
    waits = {frame: ms for frame, ms in enumerate(held) if ms != 100}
    deciding = [beat.t_s for beat in painter.beats if beat.decides]
    seen = [t for t in deciding if t <= painter.moments.t_s[-1]]
    assert len(waits) == len(seen) >= 1
    assert sum(held) == 100 * len(painter) + 2500 * len(seen)
    assert painter.moments.t_s[list(waits)] == pytest.approx(seen, abs=0.1)
    assert 89.8 < painter.moments.t_s[-1] < 90 + LONGER_S + AFTER_S


def test_our_team_is_in_every_frame(farm: Recording) -> None:
    """Some of our bright ink shows in every tenth frame, and most of our seven are in the window."""
    painter = Painter(farm)
    for frame in range(0, len(painter), 10):
        picture = painter.picture(frame)
        pixels = int((picture == ink("ours")).sum())
        assert pixels > 30, f"frame {frame}: {pixels} pixels of ours"
        window = painter.window(frame)
        where = window.pixels(painter.moments.position_m[frame][painter.ours | painter.star])
        height, width = painter.layout.map_height_px, painter.layout.map_width_px
        inside = ((where >= 0) & (where < [width, height])).all(axis=1)
        assert inside.all(), f"frame {frame}: one of ours is outside the picture"


def test_slowed_runners_are_seen(farm: Recording) -> None:
    """Where somebody runs below half of the wished speed, the ink of slowed runners shows."""
    painter = Painter(farm, View(to_s=180.0))
    slow = painter.moments.slowed.sum(axis=1)
    frame = int(slow.argmax())
    assert slow[frame] > 0, "nobody was slowed: the test would prove nothing"
    assert (painter.picture(frame) == ink("slowed")).any()
    assert not painter.moments.slowed[0].any(), "before the gun nobody counts as slowed"


def test_texts_do_not_overlap(farm: Recording) -> None:
    """No two texts of a map share a pixel, in every fiftieth frame."""
    painter = Painter(farm)
    for frame in range(0, len(painter), 50):
        painter.picture(frame)
        boxes = [written.box for written in painter.placed]
        for i, one in enumerate(boxes):
            for other in boxes[i + 1 :]:
                apart = (
                    one[2] <= other[0]
                    or other[2] <= one[0]
                    or one[3] <= other[1]
                    or other[3] <= one[1]
                )
                assert apart, f"frame {frame}: {one} and {other}"


def test_a_runner_can_be_followed(dual: Recording) -> None:
    """By name; and an unknown name is refused with the nearest."""
    name = dual.roster.name[-1]
    painter = Painter(dual, follow=name)
    for frame in range(0, len(painter), 40):
        assert (painter.picture(frame) == ink("followed")).any()
    with pytest.raises(BadInput, match="did you mean"):
        Painter(dual, follow=name[:-1] + "x")


def test_markup_in_a_name_is_only_text(dual: Recording, tmp_path: Path) -> None:
    """A name with signs that typesetters read is drawn, not interpreted."""
    scenario = dual.scenario.changed({}, name="$\\frac{1}{0}$ <b>&amp;")
    odd = replace(dual, scenario=scenario)
    assert still(odd, 1.0, tmp_path / "odd.png").stat().st_size > 1000


def test_a_still_shows_the_palette_only(dual: Recording, tmp_path: Path) -> None:
    """The PNG of a moment is what the moving picture shows then."""
    with Image.open(still(dual, 5.0, tmp_path / "s.png")) as picture:
        seen = np.unique(np.asarray(picture.convert("RGB")).reshape(-1, 3), axis=0)
    known = {tuple(row) for row in palette().tolist()}
    assert {tuple(row) for row in seen.tolist()} <= known
    assert INKS["ours"] in {tuple(row) for row in seen.tolist()}


def test_one_runner_alone_and_a_race_of_two_frames(dual: Recording, tmp_path: Path) -> None:
    """The smallest pictures: a view of two frames."""
    path = simrun.animate(dual, tmp_path / "short.gif", view=View(from_s=0.0, to_s=0.2))
    with Image.open(path) as picture:
        assert picture.n_frames >= 2
