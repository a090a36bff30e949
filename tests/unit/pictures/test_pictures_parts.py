"""The parts of a picture one by one: view, clock, stamps, edges, names, blocks of the file."""

from __future__ import annotations

import io
import itertools
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image

from simrun.base.errors import BadInput
from simrun.course.strip import EdgeKind, Strip
from simrun.pictures.film import blocks
from simrun.pictures.ink.colours import CLEAR, INKS, blends, indexed, ink, nearest, palette
from simrun.pictures.ink.lettering import clipped, lettered, plain, width_px
from simrun.pictures.ink.panels import Layout
from simrun.pictures.ink.placing import overlap
from simrun.pictures.ink.stamps import BORDER_PX, look, put_runners
from simrun.pictures.ink.strips import LOSING_WORDS, Strips, Words
from simrun.pictures.ink.view import View, clock_words, scale_bar, width_words
from simrun.pictures.map.edges import edge_strokes
from simrun.pictures.map.labels import Lettering
from simrun.pictures.map.name_tags import Group, Names
from simrun.pictures.map.signs import FINISH, GATE, Sign, box_signs, numbered, signs
from simrun.pictures.map.terrain import TILE_PX, Ground, Window
from simrun.pictures.story.moments import Moments
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from tests.helpers.worlds import SHARP_TURN, scenario_of

SHIPPED = Path(__file__).parents[3] / "scenarios"
RECORDED = np.arange(0, 1201) / 10


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Scenario:
    return scenario_of(SHARP_TURN, tmp_path_factory.mktemp("day"))


@pytest.mark.parametrize(
    ("view", "count", "last"),
    [
        (View(speed=1.0), 900, 89.9),
        (View(speed=1.0, to_s=120.0), 1200, 119.9),
        (View(from_s=30.0, to_s=50.0, speed=4.0), 50, 49.6),
        (View(to_s=10.0, frames_per_s=12.5), 125, 9.92),
    ],
)
def test_a_view_lasts_as_long_as_it_shows(view: View, count: int, last: float) -> None:
    """(to - from) / speed x frames a second, each at its own moment."""
    moments = view.moments_s(RECORDED, 90.0)
    assert len(moments) == count
    assert moments[-1] == pytest.approx(last)


@pytest.mark.parametrize(
    ("view", "key"),
    [
        (View(width_px=100), "width_px"),
        (View(height_px=5000), "height_px"),
        (View(frames_per_s=30.0), "frames_per_s"),
        (View(speed=0.0), "speed"),
        (View(speed=float("nan")), "speed"),
        (View(length_s=2.0), "length_s"),
        (View(width_px=1920, height_px=1920), "height_px"),
        (View(to_s=500.0), "to_s"),
        (View(from_s=-5.0), "from_s"),
        (View(from_s=50.0, to_s=50.0), "to_s"),
        (View(units="furlongs"), "units"),
        (View(to_s=120.0, speed=0.1), "view"),
    ],
)
def test_a_view_that_cannot_be_shown_is_refused(view: View, key: str) -> None:
    """One line that names the key."""
    with pytest.raises(BadInput, match=key):
        view.moments_s(RECORDED, 90.0)


def test_clock_and_lengths_in_words() -> None:
    """Minutes, seconds and tenths without a jump at the full minute; round scale lengths."""
    assert [clock_words(t) for t in (0.0, 59.96, 61.24, 600.0)] == [
        "0:00.0",
        "1:00.0",
        "1:01.2",
        "10:00.0",
    ]
    assert scale_bar(10.0, 120.0, "metric") == ("10 m", 100)
    assert scale_bar(10.0, 120.0, "us") == ("10 yd", 91)
    assert width_words(2.0, "metric") == "2 m"
    assert width_words(8.0, "us") == "26 ft"


def test_between_two_records_places_are_in_between() -> None:
    """A third of the way; and a runner who leaves is gone at once, not half there."""
    record = np.array([[[0.0, 0.0], [5.0, 5.0]], [[3.0, 6.0], [np.nan, np.nan]]])
    race = SimpleNamespace(times_s=np.array([0.0, 0.3]), position_m=record)
    place = Moments(race, np.array([0.0, 0.1, 0.3])).position_m  # type: ignore[arg-type]
    assert place[1, 0] == pytest.approx([1.0, 2.0])
    assert place[0, 1] == pytest.approx([5.0, 5.0])
    assert np.isnan(place[1:, 1]).all()


def test_inks_survive_the_way_into_the_palette() -> None:
    """Every ink, drawn and indexed, is its own entry; CLEAR is the nearest of nothing."""
    colours = np.array([list(INKS.values())], dtype=np.uint8)
    assert indexed(colours)[0].tolist() == list(range(len(INKS)))
    assert CLEAR not in nearest(np.array([palette()[CLEAR], [0, 0, 0], [9, 9, 9]]))
    assert len(np.unique(palette(), axis=0)) == len(palette())


def test_nothing_over_something_leaves_it_and_all_covers_it() -> None:
    """The first and last level of the table of mixtures are exact."""
    under, over = np.meshgrid(np.arange(64), np.arange(64), indexing="ij")
    assert (blends()[0] == under).all()
    assert (blends()[-1] == over).all()


def test_ours_are_larger_and_lie_on_top_where_all_stand_at_one_place() -> None:
    """The middle pixel is ours although fifty others stand there; halo, ring, then the bright ink."""
    picture = np.full((60 + 2 * BORDER_PX, 60 + 2 * BORDER_PX), ink("course"), dtype=np.uint8)
    middle = np.full((50, 2), 30.0)
    for kind in ("other", "other 3", "ours"):
        put_runners(picture, middle, look(kind, 8.0, 1.0))
    row = picture[BORDER_PX + 30, BORDER_PX : BORDER_PX + 60]
    assert row[30] == ink("ours")
    order = [name for name, _ in itertools.groupby(row[30:40].tolist())]
    found = [entry for entry in order if entry in (ink("ours"), ink("ours_ring"), ink("paper"))]
    assert found == [ink("ours"), ink("ours_ring"), ink("paper")]
    assert look("ours", 8.0, 1.0).radius_px > 1.4 * look("other", 8.0, 1.0).radius_px


def test_who_is_losing_differs_in_shape_not_only_in_colour() -> None:
    """A ring that fills up from level to level, at every zoom; ours keep their dark middle."""
    kinds = ("other", "other 1", "other 2", "other 3", "ours 1", "ours 3")
    for scale in (1.0, 5.0, 14.0):
        places = [20 + 30 * k for k in range(len(kinds))]
        shape = (2 * BORDER_PX + 40, 2 * BORDER_PX + places[-1] + 20)
        picture = np.full(shape, ink("course"), dtype=np.uint8)
        for place, kind in zip(places, kinds, strict=True):
            put_runners(picture, np.array([[place + 0.5, 20.5]]), look(kind, scale, 1.0))
        middles = picture[BORDER_PX + 20, [BORDER_PX + place for place in places]]
        inks = ("other", "paper", "paper", "losing_most", "ours", "ours")
        assert middles.tolist() == [ink(name) for name in inks]
    hollow = [look(f"other {level}", 14.0, 1.0).rings[-1][1] for level in (1, 2, 3)]
    assert hollow == sorted(hollow, reverse=True)
    assert hollow[2] == 0


def test_runners_far_off_the_map_or_gone_change_nothing() -> None:
    """Places outside, far outside and nan are left out, without an error and without a wrap-round."""
    picture = np.full((100 + 2 * BORDER_PX, 100 + 2 * BORDER_PX), ink("course"), dtype=np.uint8)
    places = [[-500.0, 10.0], [50.0, 1e7], [np.nan, 1.0], [180.0, 50.0]]
    put_runners(picture, np.array(places), look("ours", 8.0, 1.0))
    assert (picture == ink("course")).all()


def test_the_three_kinds_of_edge_look_different(day: Scenario) -> None:
    """Barrier solid and thick, marked dashed, open not drawn."""
    kinds = (EdgeKind.BARRIER, EdgeKind.MARKED, EdgeKind.OPEN)
    drawn = [edge_strokes(_with_edges(day.strip, kind)) for kind in kinds]
    barrier, marked = drawn[0][0], drawn[1][0]
    assert (barrier.ink, barrier.dashes) != (marked.ink, marked.dashes)
    assert barrier.dashes == "solid" != marked.dashes
    assert barrier.width_px > marked.width_px
    assert drawn[2] == []


def _with_edges(strip: Strip, kind: EdgeKind) -> Strip:
    from dataclasses import replace

    edge = np.full(len(strip.left_edge), kind, dtype=np.int8)
    return replace(strip, left_edge=edge, right_edge=edge)


def test_tiles_and_a_picture_drawn_at_once_agree(day: Scenario) -> None:
    """The ground put together from tiles is the ground drawn for the window, but for soft dashes."""
    ground = Ground(day.strip, day.start_line)
    window = Window(5.0, TILE_PX - 300, -178, 800, 356)
    whole, tiled = ground.seen(window, tiled=False), ground.seen(window, tiled=True)
    assert (whole == ink("course")).mean() > 0.2, "the window shows no course"
    assert (whole != tiled).mean() < 0.01


def test_every_named_place_has_its_sign(day: Scenario) -> None:
    """Turn, narrowing with its width, checkpoints and the finish, each once."""
    texts = [sign.text for sign in signs(day.strip, "metric")]
    for text in ("barn corner", "funnel, 12 m", "throat", "after the turn"):
        assert texts.count(text) == 1, texts
    assert any("39 ft" in sign.text for sign in signs(day.strip, "us"))


def test_a_second_lap_names_nothing_twice() -> None:
    """Two laps pass the same turns and narrowings: each is named once."""
    strip = read(SHIPPED / "ferry_meadow.toml").strip
    assert {gate.lap for gate in strip.gates} == {1, 2}
    named = [sign.text.split(", ")[0] for sign in signs(strip, "metric") if sign.importance == GATE]
    assert sorted(named) == sorted({gate.name for gate in strip.gates})


def test_box_numbers_stand_behind_the_line_and_ours_comes_first(day: Scenario) -> None:
    """All 24, behind the line; where room is short every fifth, the first and ours are left."""
    found = box_signs(day.start_line, 4.0, {12})
    assert [sign.text for sign in found] == [str(number) for number in range(1, 25)]
    assert all(sign.place_m[0] == pytest.approx(-4.0) for sign in found)
    few = [sign.text for sign in found if numbered(sign, 5)]
    assert few == ["1", "5", "10", "12", "15", "20"]


def test_no_two_of_many_crowded_signs_overlap() -> None:
    """Sixty names at nearly one place: those that are written keep apart, the important one is."""
    random = np.random.default_rng(3)
    crowd = [
        Sign(f"name {i}", random.uniform(20, 60, 2) * [1, -1], np.array([0.0, 1.0]), 1 + i % 5)
        for i in range(60)
    ]
    crowd.append(Sign("finish", np.array([40.0, -40.0]), np.array([0.0, 1.0]), FINISH))
    picture = np.full((356, 800), ink("ground"), dtype=np.uint8)
    ordered = tuple(sorted(crowd, key=lambda sign: -sign.importance))
    taken: list[tuple[int, int, int, int]] = []
    window = Window(5.0, 0, 0, 800, 356)
    written = Lettering(Layout(800, 450)).write(picture, window, ordered, taken)
    assert len(written) > 10
    assert "finish" in [one.text for one in written]
    for one, other in itertools.combinations(written, 2):
        assert not overlap(one.box, other.box, 0)


def test_a_team_name_hides_neither_texts_nor_its_runners() -> None:
    """With a text on one side and runners on two more, the name goes where nothing is hidden."""
    pixel = np.array([[400.0, 200.0], [400.0, 170.0], [430.0, 200.0], [460.0, 200.0]])
    picture = np.full((356, 800), ink("ground"), dtype=np.uint8)
    taken = [(340, 210, 460, 330)]
    one = Group("ours", "Alderbrook", np.ones(4, dtype=bool), 0)
    (written,) = Names(Layout(800, 450), [one]).write(picture, pixel, taken)
    assert not overlap(written.box, (340, 210, 460, 330), 0)
    low, high = np.array(written.box[:2]), np.array(written.box[2:])
    assert not ((pixel > low - 5) & (pixel < high + 5)).all(axis=1).any()


def test_a_stalk_crosses_no_text() -> None:
    """Room is left only beyond a text: rather no name than a stalk through the text."""
    above, others = (380, 150, 420, 180), [(300, 205, 500, 350), (0, 185, 390, 215)]
    one = Group("ours", "Alderbrook", np.ones(1, dtype=bool), 0)
    for right, found in (((410, 185, 800, 215), 0), ((700, 185, 800, 215), 1)):
        picture = np.full((356, 800), ink("ground"), dtype=np.uint8)
        names = Names(Layout(800, 450), [one])
        written = names.write(picture, np.array([[400.0, 200.0]]), [above, *others, right])
        assert len(written) == found
        assert (picture[above[1] : above[3], above[0] : above[2]] == ink("ground")).all()


LONG = "An Extraordinarily Long Name of an Invented Race That Cannot Fit on Any Picture at All"


@pytest.mark.parametrize("size", [(640, 360), (800, 450), (1280, 720), (1920, 1080), (640, 1080)])
@pytest.mark.parametrize("long", [False, True])
def test_texts_of_the_strips_keep_apart(size: tuple[int, int], long: bool) -> None:
    """Title, legend and footer at every size and with names far too long: no overlap, none outside."""
    title = LONG if long else "Short"
    people = (("ours", title), ("followed", title), ("other", "other runners"))
    words = Words(
        title,
        "following " + title,
        (*people, *((f"other {k}", said) for k, said in enumerate(LOSING_WORDS, 1))),
        "slow where seconds go",
        "simulation, invented field",
        "us",
    )
    layout = Layout(*size)
    strips = Strips(layout, words)
    spots = [spot for spot in strips.spots if spot[0]]
    assert set(LOSING_WORDS) <= {spot[0] for spot in spots}
    for one, other in itertools.combinations([spot[1:] for spot in spots], 2):
        assert not overlap(one, other, 0), (one, other)
    assert all(spot[1] >= 0 and spot[3] <= size[0] for spot in spots)
    clock = size[0] - layout.px(14) - width_px("10:00.0", layout.px(22), True)
    assert max(spot[3] for spot in spots if spot[4] <= layout.top_px) < clock
    bar = (
        size[0] - layout.px(14) - layout.px(100) - layout.px(6) - width_px("200 yd", layout.px(11))
    )
    lowest = max(spot[2] for spot in spots)
    assert max(spot[3] for spot in spots if spot[2] > lowest - 5) < bar


def test_texts_are_clipped_and_never_markup() -> None:
    """Longer than the room: three dots; control characters become blanks; markup is drawn as it is."""
    assert width_px(clipped(LONG, 12, 200), 12) <= 200
    assert clipped("short", 12, 200) == "short"
    assert plain("one\ntwo\x07\u202e") == "one two"
    assert lettered("$x^2$", 12).shape[1] > lettered("x2", 12).shape[1]


def test_a_gif_read_back_shows_every_pixel_for_as_long_as_it_was_held() -> None:
    """Frames, durations and pixels come back as they went in; a frame without a change is there too."""
    random = np.random.default_rng(2)
    colours = random.integers(0, 256, (64, 3)).astype(np.uint8)
    pictures = [random.integers(0, CLEAR, (30, 40)).astype(np.uint8) for _ in range(3)]
    pictures.insert(2, pictures[1])
    pictures[3] = pictures[2].copy()
    pictures[3][4:9, 11:12] = 7
    held = (80, 120, 100, 2500)
    before = [None, *pictures[:-1]]
    frames = [blocks.frame(*one) for one in zip(pictures, before, held, strict=True)]
    whole = blocks.header(40, 30, colours) + b"".join(frames) + blocks.END
    assert len(frames[3]) < len(frames[1]) / 10, "a small change takes few bytes"
    with Image.open(io.BytesIO(whole)) as picture:
        assert (picture.n_frames, picture.info["loop"], picture.size) == (4, 0, (40, 30))
        for frame, (wanted, held_ms) in enumerate(zip(pictures, held, strict=True)):
            picture.seek(frame)
            assert picture.info["duration"] == held_ms
            assert (np.asarray(picture.convert("RGB")) == colours[wanted]).all()
