"""A coach's clip: a still at its second, or the seconds that count, with nothing in it but what is seen."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from simrun.base.errors import BadInput
from simrun.pictures.walk.clips import FRAMES_S, SIDE_PX, moving, still

SECRET = "Cameramaker <script>alert(1)</script>"
MOST = 300_000
BLUE, RED, GREEN = (20, 20, 220), (220, 20, 20), (20, 200, 20)


def film_of(path: Path, size: tuple[int, int] = (96, 64), *more: str) -> Path:
    """Three seconds: the first blue, the second red, the third green."""
    import imageio.v2 as imageio

    with imageio.get_writer(
        path, fps=10, macro_block_size=16, output_params=list(more) or None
    ) as film:
        for second in (BLUE, RED, GREEN):
            for _ in range(10):
                film.append_data(np.full((size[1], size[0], 3), second, dtype=np.uint8))
    return path


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """With the words of a camera in it, as a phone writes them."""
    words = ("title", "comment", "location", "make", "artist")
    told = [each for word in words for each in ("-metadata", f"{word}={SECRET}")]
    more = (*told, "-movflags", "use_metadata_tags")
    return film_of(tmp_path_factory.mktemp("clip") / "walk.mp4", (96, 64), *more)


def seconds_of(film: bytes, folder: Path) -> list[tuple[int, ...]]:
    """The colour of the middle of every frame of a film."""
    import imageio.v2 as imageio

    path = folder / "made.mp4"
    path.write_bytes(film)
    with imageio.get_reader(path) as frames:
        return [tuple(frame[frame.shape[0] // 2, frame.shape[1] // 2]) for frame in frames]


@pytest.mark.slow
def test_a_still_of_a_clip_is_of_its_second(clip: Path) -> None:
    for at_s, channel in ((0.2, 2), (1.5, 0)):
        made = Image.open(io.BytesIO(still(clip, at_s, MOST, "k")))
        assert int(np.argmax(made.getpixel((40, 30)))) == channel


@pytest.mark.slow
def test_the_seconds_that_count_are_cut_out(clip: Path, tmp_path: Path) -> None:
    """From half a second before the red to half a second after it: as long, and in that order."""
    colours = seconds_of(moving(clip, 0.5, 2.5, MOST, "k"), tmp_path)
    assert len(colours) == pytest.approx(2 * FRAMES_S, abs=1)
    told = [int(np.argmax(colour)) for colour in colours]
    assert [told[k] for k in (2, len(told) // 2, -3)] == [2, 0, 1]


@pytest.mark.slow
def test_nothing_that_a_camera_wrote_goes_on(clip: Path) -> None:
    """Its words are in the clip that is given and nowhere in what is made; and no sound."""
    assert b"Cameramaker" in clip.read_bytes()
    made = moving(clip, 0.0, 1.0, MOST, "k")
    for word in (b"Cameramaker", b"script", b"Lavf", b"soun"):
        assert word not in made
    assert made[4:8] == b"ftyp"
    assert made.index(b"moov") < made.index(b"mdat")


@pytest.mark.slow
@pytest.mark.parametrize("size", [(1280, 720), (720, 1280), (98, 66)])
def test_it_is_made_small_and_keeps_its_shape(
    size: tuple[int, int], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Upright ones too, and sides that no encoder likes."""
    import imageio.v2 as imageio

    given = film_of(tmp_path / "large.mp4", size)
    (tmp_path / "made.mp4").write_bytes(moving(given, 0.0, 1.0, MOST, "k"))
    assert capsys.readouterr().err == "", "the reader's own words are kept from the coach"
    with imageio.get_reader(tmp_path / "made.mp4") as frames:
        wide, high = frames.get_meta_data()["size"]
    assert max(wide, high) <= SIDE_PX
    assert wide / high == pytest.approx(size[0] / size[1], rel=0.06)


@pytest.mark.slow
def test_what_does_not_become_small_is_one_line(clip: Path) -> None:
    with pytest.raises(BadInput, match=r"^k: 1 s of it are too much for one page; a shorter piece"):
        moving(clip, 0.0, 1.0, 100, "k")


@pytest.mark.slow
def test_a_clip_that_ends_before_or_is_none_is_one_line(clip: Path, tmp_path: Path) -> None:
    """Also what only calls itself a film: a list of other files is not followed, nothing else is read."""
    Image.new("RGB", (64, 64)).save(tmp_path / "moving.mp4", "GIF")
    played, joined = tmp_path / "played.mp4", clip.with_name("joined.mp4")
    played.write_text(f"#EXTM3U\n#EXTINF:1,\n{clip.as_uri()}\n#EXT-X-ENDLIST\n", encoding="utf-8")
    joined.write_text(f"ffconcat version 1.0\nfile {clip.name}\n", encoding="utf-8")
    gone = [(tmp_path / name, 0.0) for name in ("none.mp4", "moving.mp4")]
    for path, at_s in ((clip, 60.0), (played, 0.0), (joined, 0.0), *gone):
        told = r"^places\.1\.clip: no film that has a picture at"
        with pytest.raises(BadInput, match=told):
            still(path, at_s, MOST, "places.1.clip")
        with pytest.raises(BadInput, match=told):
            moving(path, at_s, at_s + 1, MOST, "places.1.clip")
