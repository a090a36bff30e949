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
from simrun.pictures.ink.view import View
from simrun.state.account import lost_so_far
from simrun.state.recording import Recording
from tests.helpers.recordings import shipped

MOST_BYTES = 5_000_000


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
@pytest.mark.slow
def test_the_film_fits_into_a_chat_and_waits_where_it_is_decided(name: str, tmp_path: Path) -> None:
    """800 x 450, 20 to 30 s besides the pauses, at most 5 MB.

    Every frame lasts a tenth of a second but for those at which half of our team is where it is decided, and
    the last one, which says what it cost.
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
    last = painter.moments.t_s[-1]
    seen = [beat.t_s for beat in painter.beats if beat.decides and beat.t_s <= last + 1e-9]
    assert len(waits) == len(seen) >= 3
    assert sum(held) == 100 * len(painter) + 2500 * len(seen)
    assert 20_000 <= 100 * len(painter) <= 30_000
    step = np.diff(painter.moments.t_s).max()
    assert painter.moments.t_s[list(waits)] == pytest.approx(seen, abs=step)
    assert waits[len(held) - 1]
    told = [caption.beat.name for caption in painter.captions]
    assert any("the costliest 50" in name for name in told)
    assert told[-1] == "what it cost"


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


def test_who_is_losing_is_seen(farm: Recording) -> None:
    """Where many lose very fast, the ink of that shows; at the gun nobody is marked."""
    painter = Painter(farm)
    for level, name in ((1, "losing"), (3, "losing_most")):
        count = (painter.levels == level).sum(axis=1)
        frame = int(count.argmax())
        assert count[frame] > 20, "nobody was losing: the test would prove nothing"
        assert (painter.picture(frame) == ink(name)).sum() > 20
    assert not painter.levels[0].any()


def longest_run(marked: np.ndarray) -> int:
    """The longest row of neighbours that are marked."""
    edges = np.diff(np.pad(marked, ((0, 0), (1, 1))).astype(int), axis=1)
    return int((np.nonzero(edges == -1)[1] - np.nonzero(edges == 1)[1]).max(initial=0))


def test_the_ledger_says_what_the_account_says(farm: Recording) -> None:
    """Second by second, row by row; and the longest bar is as long as the row is wide."""
    painter = Painter(farm)
    account, ours = lost_so_far(farm), painter.rows
    for frame in (30, 120, len(painter) - 1):
        here = [
            np.interp(painter.moments.t_s[frame], account.times_s, account.lost_s[:, i])
            for i in ours
        ]
        np.testing.assert_allclose(painter.ledger.parts_s[:, frame].sum(axis=0), here, atol=1e-9)
    wide, high = painter.layout.side_px, painter.layout.map_height_px + painter.layout.ribbon_px
    before, after = (painter.ledger.picture(frame, wide, high) for frame in (0, len(painter) - 1))
    dark = ink("text")
    assert longest_run(after == dark) > 4 * longest_run(before == dark), "traffic's bars have grown"
    worst = int(painter.ledger.parts_s[2, -1].argmax())
    assert painter.ledger.lit[:, worst].any(), "a row lights up when a whole second went"


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
    path = simrun.animate(dual, tmp_path / "short.gif", view=View(from_s=0.0, to_s=0.2, speed=1.0))
    with Image.open(path) as picture:
        assert picture.n_frames >= 2
