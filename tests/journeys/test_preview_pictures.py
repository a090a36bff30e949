"""The coach's pictures and clips on the walk: large, moving, hostile, missing."""

from __future__ import annotations

import shutil
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser

from simrun.answers.whole.preview.chapters import Chapter
from simrun.answers.whole.preview.looked_at import (
    MOST_PICTURE_BYTES,
    MOST_PICTURES_BYTES,
    Pictures,
    is_moving,
    looked_at,
    room_bytes,
)
from simrun.answers.whole.preview.result import PreviewResult
from simrun.base.errors import BadInput, Notice
from simrun.cli import main
from simrun.pages.walk import Shot, Walk, write_walk
from simrun.pictures.walk.clips import LONGEST_S
from simrun.scenario.reader import read
from simrun.scenario.tables.schema_places import PlaceTable
from tests.helpers import invented_clip
from tests.helpers.invented_pictures import PICTURES
from tests.helpers.walked import opened, title

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FEN = SCENARIOS / "brindle_fen.toml"
MOST_BYTES = 8_000_000


def walk_with(fen_walk: PreviewResult, chapters: tuple[Chapter, ...], pictures: Pictures) -> Walk:
    """The same walk with other places and pictures."""
    squad = replace(fen_walk.squads[0], chapters=chapters)
    return replace(fen_walk, squads=(squad,), pictures=pictures).walk


@pytest.mark.slow
def test_ten_photographs_and_two_clips_stay_below_eight_megabytes(
    fen_walk: PreviewResult, tmp_path: Path
) -> None:
    """As large as the page lets each of them be."""
    places = [
        PlaceTable.model_validate(
            {"at": chapter.mark.at_m, "photo": "a.jpg"}
            | ({"clip": "a.mp4", "clip_to": 9} if number < 2 else {})
        )
        for number, chapter in enumerate(fen_walk.chapters)
    ]
    assert len(places) == 10
    most = room_bytes([1] * 10 + [2] * 2)
    assert most <= MOST_PICTURE_BYTES
    assert 14 * most <= MOST_PICTURES_BYTES
    full = {(place.at, "photo"): Shot(b"\xff" * most, "") for place in places}
    full |= {
        (p.at, "clip"): Shot(b"\xff" * (most // 2), "", film=b"\xff" * (most * 3 // 2))
        for p in places[:2]
    }
    chapters = tuple(replace(c, place=p) for c, p in zip(fen_walk.chapters, places, strict=True))
    path = write_walk(walk_with(fen_walk, chapters, full), tmp_path / "large.html")
    assert path.read_text("utf-8").count("data:image/jpeg") == 12
    assert path.read_text("utf-8").count("data:video/mp4") == 2
    assert path.stat().st_size < MOST_BYTES


def test_a_clip_moves_where_it_is_told_from_when_to_when_and_is_no_longer_than_a_look() -> None:
    def place(**more: object) -> PlaceTable:
        return PlaceTable.model_validate({"at": 10, "clip": "a.mp4", **more})

    assert is_moving(place(clip_from=3, clip_to=8))
    assert is_moving(place(clip_to=LONGEST_S))
    assert not is_moving(place(clip_from=3))
    assert not is_moving(place(clip_to=LONGEST_S + 1))


def until(condition: str) -> str:
    """Waits inside the page, whose rules let no text be run."""
    look = f"() => ({condition}) ? done(true) : setTimeout(look, 50)"
    return f"one => new Promise(done => {{ const look = {look}; look(); }})"


@pytest.mark.slow
def test_a_clip_of_the_file_plays_in_the_page(
    browser: Browser, fen_walk: PreviewResult, tmp_path: Path
) -> None:
    """From the seconds in the file to a film that the browser plays, once asked; it stops with its slide."""
    import imageio.v2 as imageio

    with imageio.get_writer(tmp_path / "gap.mp4", fps=10, macro_block_size=16) as film:
        for shade in range(40):
            film.append_data(np.full((128, 96, 3), 5 * shade, dtype=np.uint8))
    day = read(FEN).changed(
        {"places": [{"at": "hedge gap", "clip": "gap.mp4", "clip_from": 1, "clip_to": 3}]}
    )
    (place,) = day.places
    pictures = looked_at(day, tmp_path)
    chapters = tuple(
        replace(c, place=place if c.mark.name == "hedge gap" and c.mark.off_m == 0 else None)
        for c in fen_walk.chapters
    )
    path = write_walk(walk_with(fen_walk, chapters, pictures), tmp_path / "moving.html")
    for page in opened(browser, path):
        page.get_by_role("link", name="Hedge gap", exact=True).click()
        clip = page.locator(".slide.now video")
        assert clip.evaluate("one => one.paused && one.muted")
        clip.evaluate(until("one.readyState > 1"))
        assert clip.evaluate("one => one.duration") == pytest.approx(2.0, abs=0.15)
        page.keyboard.press("v")
        clip.evaluate(until("one.currentTime > 0.1"))
        page.keyboard.press("PageDown")
        assert page.evaluate("document.querySelector('video').paused")
        assert title(page).endswith("Pump corner")
        page.keyboard.press("PageUp")
        assert "gap.mp4, 0:01 to 0:03" in page.locator(".slide.now figure.shot").inner_text()


@pytest.mark.slow
def test_hostile_words_do_nothing_in_a_browser(
    browser: Browser, fen_walk: PreviewResult, tmp_path: Path
) -> None:
    """As a name, a note, what is seen, a file's name: shown as written."""
    hostile = (
        "<img src=x onerror=\"document.title='run'\"></script><script>document.title='run'</script>"
    )
    place = fen_walk.chapters[1].place
    assert place is not None
    worst = place.model_copy(update=dict.fromkeys(("name", "see", "note", "coach"), hostile))
    chapters = tuple(
        replace(c, place=worst) if k == 1 else c for k, c in enumerate(fen_walk.chapters)
    )
    path = write_walk(walk_with(fen_walk, chapters, fen_walk.pictures), tmp_path / "hostile.html")
    for page in opened(browser, path):
        page.keyboard.press("End")
        page.keyboard.press("Home")
        page.keyboard.press("PageDown")
        page.keyboard.press("PageDown")
        assert page.title() == fen_walk.walk.title
        assert hostile[:20] in title(page)


def test_what_is_wrong_with_the_pictures_is_told_before_any_race(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Missing, none, elsewhere: a line each, exit 2, nothing written."""
    for path in SCENARIOS.glob("brindle_fen*"):
        shutil.copy(path, tmp_path / path.name)
    (tmp_path / "brindle_fen_line.jpg").unlink()
    (tmp_path / "brindle_fen_hedge_gap.jpg").write_bytes(b"<svg onload=alert(1)>")
    out = tmp_path / "out"
    assert main(["preview", str(tmp_path / "brindle_fen.toml"), "--out", str(out)]) == 2
    told = capsys.readouterr().err.strip().split("\n")
    assert len(told) == 2
    assert "places.1.photo: 'brindle_fen_line.jpg' is not there" in told[0]
    assert "places.3.photo: no picture that can be read" in told[1]
    assert not out.exists()


def test_without_the_extra_a_photo_stands_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """The shipped clip needs what reads films; without it the walk has the photo, and one line says so. A
    clip that stands alone is refused as before."""
    monkeypatch.setitem(sys.modules, "imageio_ffmpeg", None)
    day = read(FEN)
    with pytest.warns(Notice, match=r"brindle_fen_pump_corner.mp4 is left out.*simrun\[video\]"):
        found = looked_at(day, SCENARIOS)
    assert ("pump corner", "photo") in found
    assert ("pump corner", "clip") not in found
    alone = {"at": "pump corner", "clip": "brindle_fen_pump_corner.mp4"}
    with pytest.raises(BadInput, match="an install with films"):
        looked_at(day.changed({"places": [alone]}), SCENARIOS)


def test_the_shipped_clip_moves_and_weighs_little() -> None:
    """Six seconds at the pump corner, below 300 kB; on the page it moves, with a first picture."""
    assert (SCENARIOS / invented_clip.NAME).stat().st_size < 300_000
    (place,) = (place for place in read(FEN).places if place.clip)
    assert is_moving(place)
    shot = looked_at(read(FEN), SCENARIOS)[place.at, "clip"]
    assert shot.film
    assert shot.film[4:8] == b"ftyp"


@pytest.mark.slow
def test_the_invented_clip_is_that_of_the_command() -> None:
    """Two of its frames drawn anew look the same."""
    import imageio_ffmpeg

    frames = imageio_ffmpeg.read_frames(SCENARIOS / invented_clip.NAME)
    assert next(frames)["size"] == invented_clip.SIZE
    kept = list(frames)
    assert len(kept) == round(invented_clip.LASTS_S * invented_clip.FRAMES_S)
    wide, high = invented_clip.SIZE
    for k in (0, 60):
        drawn = np.asarray(invented_clip.frame(k / invented_clip.FRAMES_S), dtype=int)
        seen = np.frombuffer(kept[k], np.uint8).reshape(high, wide, 3)
        assert np.abs(drawn - seen).mean() < 6.0
        assert np.abs(drawn - drawn.mean(axis=(0, 1))).mean() > 20.0


@pytest.mark.slow
def test_the_invented_pictures_are_those_of_the_command(tmp_path: Path) -> None:
    """Drawn anew they look the same, and all of them weigh little."""
    from tests.helpers.invented_pictures import three_willows

    kept = sorted(SCENARIOS.glob("brindle_fen_*.jpg"))
    assert sum(path.stat().st_size for path in kept) < 400_000
    drawn = {f"brindle_fen_{picture.__name__}.jpg" for picture in PICTURES}
    assert {path.name for path in kept} == drawn
    three_willows(read(FEN).strip).write(tmp_path / "again.jpg")
    shown = SCENARIOS / "brindle_fen_three_willows.jpg"
    one, other = (Image.open(path) for path in (shown, tmp_path / "again.jpg"))
    apart = np.abs(np.asarray(one, dtype=int) - np.asarray(other, dtype=int))
    assert apart.mean() < 1.0
