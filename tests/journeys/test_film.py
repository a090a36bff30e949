"""Two races side by side, the film and the sheet: opened, counted and looked at by the pixel."""

from __future__ import annotations

import itertools
import sys
from dataclasses import replace
from pathlib import Path

import imageio_ffmpeg
import numpy as np
import pytest
from PIL import Image

import simrun
from simrun.base.errors import BadInput, CannotWrite
from simrun.cli import main
from simrun.pictures.film.films import kinds_of, write_films
from simrun.pictures.film.inset import turn_called
from simrun.pictures.film.painter import Painter
from simrun.pictures.film.pair import Pair, Told, plan_words
from simrun.pictures.film.sheet import chosen
from simrun.pictures.ink.colours import ink, palette
from simrun.pictures.ink.placing import overlap
from simrun.pictures.ink.stamps import look, stamp
from simrun.pictures.ink.view import View
from simrun.pictures.map.plates import Plate
from simrun.pictures.story.captions import Caption
from simrun.pictures.story.script import deciding_cut
from simrun.scenario.scenario import Scenario
from simrun.state.recording import Recording

SHIPPED = Path(__file__).parents[2] / "scenarios"
ODD = "=<img src=x onerror=alert(1)> $\\frac$ " + "long " * 6
UNSEEN = "\u202evil\n\x07"


@pytest.fixture(scope="module")
def meet() -> Scenario:
    return simrun.read(SHIPPED / "dual_meet.toml").changed({"clock.limit": 74})


@pytest.fixture(scope="module")
def calm(meet: Scenario) -> Recording:
    return simrun.race(meet, seed=1)


@pytest.fixture(scope="module")
def fast(meet: Scenario) -> Recording:
    return simrun.race(meet.changed({"teams.Millbrook.opening": 0.25}), seed=1)


@pytest.fixture(scope="module")
def pair(calm: Recording, fast: Recording) -> Pair:
    return Pair(calm, fast, View(speed=1.0))


@pytest.fixture(scope="module")
def files(calm: Recording, fast: Recording, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """All three kinds of the same pair, through the door."""
    folder = tmp_path_factory.mktemp("films")
    simrun.save(calm, folder / "calm.npz")
    simrun.save(fast, folder / "fast.npz")
    words = [str(folder / "calm.npz"), "--beside", str(folder / "fast.npz")]
    words += ["--film", "gif,mp4", "--film", "sheet", "--from", "29", "--to", "35", "--speed", "1"]
    assert main(["replay", *words]) == 0
    return folder


def test_the_files_are_there_and_nothing_else(files: Path) -> None:
    """One script, four files."""
    names = {"races.gif", "races.mp4", "races_sheet.png", "races_sheet.pdf"}
    assert {path.name for path in files.iterdir()} == names | {"calm.npz", "fast.npz"}


def test_the_gif_lasts_as_long_as_the_film(files: Path, pair: Pair) -> None:
    """6 s of clock and a pause of 2.5 s in both; the film's frames are counted by reading it."""
    with Image.open(files / "races.gif") as picture:
        held = []
        for frame in range(picture.n_frames):
            picture.seek(frame)
            held.append(picture.info["duration"])
    show = Pair(pair.left.recording, pair.right.recording, View(from_s=29.0, to_s=35.0, speed=1.0))
    deciding = [beat.name for beat in show.beats if beat.decides and beat.t_s >= 29.0]
    assert deciding == ["gate, 12 ft", "what it cost"]
    assert sorted(held)[-3:] == [100, 2600, 2600], "at the gate, and at the end on what it cost"
    assert sum(held) == 6_000 + 2 * 2_500
    count, seconds = imageio_ffmpeg.count_frames_and_secs(str(files / "races.mp4"))
    assert count == 20 * 11
    assert seconds == pytest.approx(11, abs=0.1)


def test_the_film_shows_the_pictures(files: Path, calm: Recording, fast: Recording) -> None:
    """Before, in and after the pause, but for what packing costs."""
    show = Pair(calm, fast, View(speed=1.0, from_s=29.0, to_s=35.0, frames_per_s=20.0))
    reader = imageio_ffmpeg.read_frames(str(files / "races.mp4"))
    wide, high = next(reader)["size"]
    assert (wide, high) == (800, 450)
    wait, end = sorted(show.pauses)
    assert end == len(show) - 1
    order = [*range(wait), *[wait] * 51, *range(wait + 1, end), *[end] * 51]
    pictures = [palette()[show.picture(frame)] for frame in range(len(show))]
    for frame, seen in zip(order[::5], itertools.islice(reader, 0, None, 5), strict=True):
        shown = np.frombuffer(seen, dtype=np.uint8).reshape(high, wide, 3).astype(int)
        assert np.abs(shown - pictures[frame]).mean() < 4, frame


def test_the_gif_shows_the_pictures(files: Path) -> None:
    """Every frame read back by another program is the picture, to the pixel."""
    races = (simrun.load(files / f"{name}.npz") for name in ("calm", "fast"))
    show = Pair(*races, view=View(speed=1.0, from_s=29.0, to_s=35.0))
    with Image.open(files / "races.gif") as picture:
        assert picture.n_frames == len(show)
        for frame in range(len(show)):
            picture.seek(frame)
            assert (np.asarray(picture.convert("RGB")) == palette()[show.picture(frame)]).all()


def test_both_halves_show_the_same_second_and_place(pair: Pair) -> None:
    """One clock, one camera: each half has its own team where it is, and the other's beside it."""
    top, step = pair.layout.top_px, pair.layout.map_width_px + pair.layout.between_px
    found = {"ours": 0, "other_plan": 0}
    assert (pair.left.track.middle_m == pair.right.track.middle_m).all()
    frames = range(60, len(pair), 30)  # at the gun both stand on the same spot
    for frame in frames:
        second = pair.moments.t_s[frame]
        picture = pair.picture(frame)
        for number, (own, other) in enumerate(((pair.left, pair.right), (pair.right, pair.left))):
            half = picture[top:, number * step : number * step + pair.layout.map_width_px]
            assert own.moments.t_s[frame] == second
            for kind, side in (("ours", own), ("other_plan", other)):
                where = own.window(frame).pixels(side.moments.position_m[frame][side.our_team])
                hits = [_near(half, spot, kind) for spot in where]
                assert any(hits), (frame, number, kind)
                found[kind] += sum(hits)
    looked_at = 2 * len(frames) * int(pair.left.our_team.sum())
    assert found["ours"] > 0.85 * looked_at, "under a name or another runner at most"
    assert found["other_plan"] > 0.5 * looked_at, "the other plan lies under our own"


def _near(picture: np.ndarray, spot: np.ndarray, name: str) -> bool:
    column, row = spot.astype(int)
    part = picture[max(row - 8, 0) : row + 9, max(column - 8, 0) : column + 9]
    return bool((part == ink(name)).any())


def test_a_race_alone_has_no_other_plan(calm: Recording, pair: Pair) -> None:
    """The other plan's ink is nowhere on a single picture, and on both maps of a pair."""
    painter = Painter(calm, View(speed=1.0))
    assert not any((painter.picture(frame) == ink("other_plan")).any() for frame in (0, 300, 500))
    assert (pair.map(300)[:, : pair.layout.map_width_px] == ink("other_plan")).any()


def test_the_other_plan_is_told_by_its_shape_too() -> None:
    """Its corners are empty where a round stamp of the same reach is not."""
    other, slow = (stamp(look(kind, 8.0, 1.0)) for kind in ("other_plan", "ours 3"))
    for one, filled in ((other, False), (slow, True)):
        reach = int(one.rows.max())
        corner = (np.abs(one.rows) + np.abs(one.columns)) > 1.25 * reach
        assert corner.any() == filled


def test_texts_of_a_pair_do_not_overlap(pair: Pair) -> None:
    """No two texts, captions or small pictures of a half share a pixel, in every twentieth frame."""
    seen = 0
    for frame in range(0, len(pair), 20):
        pair.picture(frame)
        for side in (pair.left, pair.right):
            seen += sum(" / " in written.text for written in side.placed)
            for one, other in itertools.combinations(side.placed, 2):
                assert not overlap(one.box, other.box, 0), (frame, one, other)
    assert seen > 0


def test_signs_and_names_make_room_for_a_caption(calm: Recording) -> None:
    """A caption laid where a sign stood: the sign stands elsewhere or is left out."""
    painter = Painter(calm, View(speed=1.0))
    plain = painter.map(250)
    sign = next(written for written in painter.placed if written.text == "gate, 12 ft")
    beat = painter.captions[0].beat
    painter.captions = [Caption(beat, Plate(250, 251, sign.box))]
    assert (painter.map(250) != plain).any()
    for one, other in itertools.combinations(painter.placed, 2):
        assert not overlap(one.box, other.box, 0), (one, other)


def test_captions_come_at_their_moment_and_hide_none_of_ours(calm: Recording) -> None:
    """Shown from the frame of the beat for three seconds or until the next; beside our team."""
    painter = Painter(calm, View(speed=1.0))
    assert [c.beat.name for c in painter.captions][:3] == ["well", "gate, 12 ft", "mill corner"]
    for caption in painter.captions:
        assert painter.moments.t_s[caption.plate.first] == pytest.approx(caption.beat.t_s, abs=0.1)
        assert 10 <= caption.plate.last - caption.plate.first <= 30
        for frame in range(caption.plate.first, caption.plate.last, 5):
            pixel = painter.window(frame).pixels(painter.moments.position_m[frame])[
                painter.our_team
            ]
            left, top, right, bottom = caption.plate.box
            assert not ((pixel > [left, top]) & (pixel < [right, bottom])).all(axis=1).any()


def test_the_turn_is_shown_small_while_the_camera_is_elsewhere(calm: Recording) -> None:
    """The camera stays with the last runner; the turn shows where the first of the field are."""
    last = int(np.nanargmax(calm.crossing_s[:, 0]))
    painter = Painter(calm, View(inset="mill corner", speed=1.0), follow=calm.roster.name[last])
    assert painter.inset
    assert painter.inset.plates
    there, window = 0, painter.inset.window
    corner = calm.strip.middle_m[deciding_cut(calm.strip, turn_called(calm.strip, "mill corner"))]
    assert window.pixels(corner) == pytest.approx(
        [window.width_px / 2, window.height_px / 2], abs=1
    )
    plates = [(p, f) for p in painter.inset.plates for f in range(p.first, p.last, 5)]
    for plate, frame in plates:
        small = painter.map(frame)[plate.box[1] : plate.box[3], plate.box[0] : plate.box[2]]
        where = window.pixels(painter.moments.position_m[frame])
        size = np.array([window.width_px, window.height_px])
        inside = ((where > 2) & (where < size - 2)).all(axis=1)
        for column, row in np.rint(where[inside] + [1, painter.inset.title_px]).astype(int):
            # The rim of another may begin a pixel beside the middle of this one.
            assert small[row, column] not in (ink("course"), ink("ground")), (frame, column, row)
            there += 1
    assert there > 20
    assert Painter(calm, View(with_inset=False)).inset is None
    with pytest.raises(BadInput, match="did you mean 'mill corner'"):
        Painter(calm, View(inset="mill cornre"))


def test_without_pauses_every_frame_lasts_the_same(calm: Recording) -> None:
    """--no-pauses."""
    painter = Painter(calm, View(pauses=False))
    assert {painter.held_ms(frame) for frame in range(len(painter))} == {100}


def test_the_sheet_has_six_maps_on_one_page(files: Path) -> None:
    """Two rows of three maps as wide as they should be; the PDF is one page."""
    with Image.open(files / "races_sheet.png") as page:
        blank = (np.asarray(page.convert("RGB")) > 250).all(axis=2)
    full = _bands((~blank).mean(axis=1) > 0.7, 300)
    assert len(full) == 2
    for top, bottom in full:
        assert len(_bands((~blank[top:bottom]).mean(axis=0) > 0.9, 300)) == 3
    data = (files / "races_sheet.pdf").read_bytes()
    assert data.startswith(b"%PDF")
    assert data.count(b"/Type /Page ") + data.count(b"/Type /Page\n") == 1


def _bands(full: np.ndarray, least: int) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], full.astype(int), [0]])))
    return [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a >= least]


def test_the_sheet_tells_the_start_and_what_decides(calm: Recording, pair: Pair) -> None:
    """Six moments in order, each with words; of a pair with the words of both."""
    for show in (Painter(calm), pair):
        told = chosen(show)
        assert len({beat.t_s for beat in told}) == 6
        assert [beat.t_s for beat in told] == sorted(beat.t_s for beat in told)
        assert told[0].name == "at the gun"
        assert {"gate, 12 ft", "mill corner"} <= {beat.name for beat in told}
        assert all(beat.place for beat in told)
    assert told[2].place.startswith("opening as the field: ")
    assert told[2].see.startswith("opening 0.25: in place ")


def test_plans_are_named_by_what_differs(calm: Recording, fast: Recording, meet: Scenario) -> None:
    """Only the keys that differ, ours without its name; the same plan goes by its scenario's name."""
    assert plan_words(calm, fast) == ("opening as the field", "opening 0.25")
    assert plan_words(calm, calm) == (meet.name, meet.name)


@pytest.mark.parametrize("change", ["seed", "course", "field", "nobody"])
def test_races_that_are_no_pair_are_refused(
    change: str,
    calm: Recording,
    meet: Scenario,
    files: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """One line, exit code 2, nothing written."""
    other, wanted = calm, ""
    if change == "seed":
        other, wanted = replace(calm, seed=2), "a race of seed 2 beside one of seed 1"
    if change == "course":
        wider = meet.changed({"start.width": "22 yd"})
        other, wanted = simrun.race(wider.changed({"clock.limit": 3}), 1), "run on other ground"
    if change == "field":
        roster = replace(calm.roster, name=("Somebody Else", *calm.roster.name[1:]))
        other, wanted = replace(calm, roster=roster), "other runners"
    words = [
        "replay",
        str(files / "calm.npz"),
        "--beside",
        str(simrun.save(other, tmp_path / "o.npz")),
    ]
    if change == "nobody":
        words += ["--follow", "Nobody Atall"]
        wanted = "no 'Nobody Atall' in this race"
    assert main([*words, "--out", str(tmp_path / "out")]) == 2
    said = capsys.readouterr().err
    assert wanted in said
    assert said.count("\n") == 1
    assert not (tmp_path / "out").exists()


def test_a_film_without_its_extra_is_one_line(
    calm: Recording, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Said before anything is drawn; nothing is left behind."""
    monkeypatch.setitem(sys.modules, "imageio_ffmpeg", None)
    with pytest.raises(CannotWrite, match=r'the extra "video": pip install "simrun\[video\]"'):
        write_films(Told(calm), tmp_path, ("gif", "mp4"))
    assert list(tmp_path.iterdir()) == []


def test_kinds_may_stand_in_one_word_or_in_many() -> None:
    """In any order, once each; a wrong one is named."""
    assert kinds_of([]) == ("gif",)
    assert kinds_of(["sheet,gif", "mp4", "gif"]) == ("gif", "mp4", "sheet")
    with pytest.raises(BadInput, match="did you mean 'sheet'"):
        kinds_of(["sheat"])


def test_a_gif_that_is_too_large_is_made_lighter_and_says_so(
    calm: Recording, tmp_path: Path
) -> None:
    """Below the limit where that can be; else whole, with its size."""
    told = Told(calm, view=View(speed=1.0, from_s=28.0, to_s=36.0))
    (path,), notes = write_films(told, tmp_path / "whole")
    whole = path.stat().st_size
    assert notes == []
    limit = 1000 * (whole * 7 // 10_000)
    (path,), (note,) = write_films(told, tmp_path / "less", most_bytes=limit)
    assert path.stat().st_size <= limit
    words = "800 x 450 pixels and 5 frames a second, so that it stays below"
    assert note == f"race.gif: {words} {limit / 1e6:g} MB"
    with Image.open(path) as picture:
        assert picture.info["duration"] == 200
    (path,), (note,) = write_films(told, tmp_path / "never", most_bytes=10_000)
    assert "MB, more than 0.01; show fewer seconds" in note
    with Image.open(path) as picture:
        assert picture.size == (640, 360)


@pytest.mark.slow
def test_odd_names_are_only_text(meet: Scenario, tmp_path: Path) -> None:
    """A team and a race called like markup; in a recording also signs that no scenario may hold."""
    odd = meet.changed({"teams.Millbrook.name": ODD.strip()}, name=ODD.strip())
    one = simrun.race(odd, 1)
    other = simrun.race(odd.changed({f"teams.{ODD.strip()}.opening": 0.2}), 1)
    names = tuple(name + UNSEEN for name in one.roster.name)
    one, other = (
        replace(race, roster=replace(race.roster, name=names, team_names=race.roster.team_names))
        for race in (one, other)
    )
    view = View(speed=1.0, from_s=14.0, to_s=18.0)
    told = [Told(one, None, names[0], view), Told(one, other, None, view)]
    for number, films in enumerate(told):
        written, _ = write_films(films, tmp_path / str(number), ("gif", "mp4", "sheet"))
        assert all(path.stat().st_size > 5000 for path in written)
        show = films.show(view)
        show.map(25)
        painter = show.left if isinstance(show, Pair) else show
        assert any("<img src" in written.text for written in painter.placed)
        for written in painter.placed:
            assert written.text.isprintable()
            assert 0 <= written.box[0] < written.box[2] <= painter.layout.map_width_px


def test_the_camera_shows_both_edges_of_a_wide_course(tmp_path: Path) -> None:
    """100 m wide at first: beside the middle of our team both edges are in the map, in every frame."""
    wide = simrun.read(SHIPPED / "ostrel_common.toml").changed({"clock.limit": 60})
    painter = Painter(simrun.race(wide, 1))
    strip, size = painter.recording.strip, [800, painter.layout.map_height_px]
    share = np.linspace(0, 1, 21)[:-1, None, None]
    left, right = (
        ((1 - share) * edge[:-1] + share * edge[1:]).reshape(-1, 2)
        for edge in (strip.left_m, strip.right_m)
    )
    widest = 0.0
    for frame in range(0, len(painter), 10):
        ours = painter.moments.position_m[frame][painter.our_team].mean(axis=0)
        beside = int(np.hypot(*((left + right) / 2 - ours).T).argmin())
        edges = painter.window(frame).pixels(np.stack([left[beside], right[beside]]))
        assert ((edges > 0) & (edges < size)).all(), frame
        widest = max(widest, float(np.hypot(*(left[beside] - right[beside]))))
    assert widest > 90
