"""The walk through the course: written, walked in a real browser, printed, held against the sheet."""

from __future__ import annotations

import base64
import json
import re
import shutil
import zlib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page

import simrun
from simrun.answers.card.card_races import Timed
from simrun.answers.card.words import advice_words
from simrun.answers.sheet.page import page_of as sheet_page
from simrun.answers.sheet.run import run_sheet
from simrun.answers.sheet.words import near_said, said_of, sentence_of
from simrun.answers.whole.preview.chapters import Chapter, each_again
from simrun.answers.whole.preview.heart_words import questions_of
from simrun.answers.whole.preview.lap_words import laps_part
from simrun.answers.whole.preview.page import Pictures, comes_s, our_rows
from simrun.answers.whole.preview.result import PreviewResult
from simrun.answers.whole.preview.run import run_preview
from simrun.answers.whole.preview.squads import shared, side_by_side, told_apart
from simrun.answers.whole.preview.words import do_said, title_words
from simrun.base.errors import BadInput
from simrun.cli import main
from simrun.pages.frame import html_of
from simrun.pages.page import Figure
from simrun.pages.walk import Said, Walk, write_walk
from simrun.pictures.walk.five_seconds import LASTS_S, five_seconds
from simrun.pictures.walk.place_map import place_map
from simrun.scenario.reader import read
from simrun.scenario.tables.schema_places import PlaceTable
from tests.helpers.invented_pictures import PICTURES

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FEN = SCENARIOS / "brindle_fen.toml"
MOST_BYTES = 8_000_000
MOST_SHEETS = 4


@pytest.fixture(scope="module")
def fen(tmp_path_factory: pytest.TempPathFactory) -> PreviewResult:
    """One race of the entry list, in a folder with everything written."""
    result = simrun.preview(read(FEN), folder=tmp_path_factory.mktemp("fen"), seeds=[1], workers=1)
    result.save()
    return result


# --- one source of sentences ---


def test_what_the_walk_says_to_do_is_what_the_sheet_says(fen: PreviewResult) -> None:
    """Mark by mark the same sentences, the same headline, the same cells; and none is made anew."""
    found = fen.sheet.found
    told = {each.mark.at_m: each for each in found.marks}
    assert {c.mark.at_m for c in fen.chapters} >= set(told)
    for chapter in fen.chapters:
        if chapter.mark.at_m in told:
            assert chapter.told == told[chapter.mark.at_m]
            said = [one.text for one in do_said(chapter, found)]
            of_sheet = list(said_of(told[chapter.mark.at_m], found))
            ground = chapter.told.passing
            assert said == (of_sheet or [advice_words(ground.word, ground)] if ground else of_sheet)
    assert fen.sentence == sentence_of(found)
    sheet = html_of(sheet_page(found, Figure(b"", "")))
    page = (fen.folder / "preview.html").read_text("utf-8")
    for sentence in (part for each in found.marks[:-1] for part in said_of(each, found)):
        assert sentence in sheet
        assert sentence in page


@pytest.mark.slow
def test_where_the_sheet_is_silent_the_card_speaks_and_a_turn_keeps_its_line(
    tmp_path: Path,
) -> None:
    """Few runners: nothing is said of the room on the sheet. The line told before a turn is told at it."""
    day = read(SCENARIOS / "dual_meet.toml").changed({"places": [{"at": 40, "name": "bench"}]})
    found = run_preview(day, tmp_path, seeds=(1,), workers=1)
    figures = found.sheet.found
    by = {chapter.mark.name: chapter for chapter in found.chapters}
    assert said_of(by["well"].told, figures) == ()
    (said,) = do_said(by["well"], figures)
    assert said.text == advice_words(by["well"].told.passing.word, by["well"].told.passing)
    line, bench, well = (chapter.told for chapter in found.chapters[:3])
    assert bench.passing is line.passing
    assert all(a.middle < b.middle for a, b in zip(bench.time_s, well.time_s, strict=True))
    assert "Outside at the mill corner." in " ".join(said_of(by["gate"].told, figures))
    assert do_said(by["mill corner"], figures)[0].text == "Outside at the mill corner."


def test_the_sheet_of_the_same_races_is_the_same(fen: PreviewResult) -> None:
    """Asked for by itself, in the same folder: no race is run again, and every figure is alike."""
    sheet = run_sheet(read(FEN), fen.folder, seeds=(1,), workers=1)
    assert sheet.tables["sheet"].equals(fen.sheet.tables["sheet"])
    assert sheet.sentence == fen.sentence


def test_the_card_finds_the_same_room_on_the_same_ground(fen: PreviewResult) -> None:
    """Sit, move or choose: the card's own way of counting, asked of the same races and ground."""
    raced = fen.sheet.raced
    card = Timed(raced.station_m, list(raced.races))
    for chapter in fen.chapters[1:-1]:
        passing = card.passing(chapter.mark.at_m, chapter.to_m)
        assert passing.word == chapter.told.passing.word
        assert passing.open_share == pytest.approx(chapter.told.passing.open_share, nan_ok=True)


def test_who_runs_with_whom_is_the_sheets_on_the_sheets_own_stretch(fen: PreviewResult) -> None:
    """Where a stretch of the sheet is one chapter the words are the same; finer ones name people of ours."""
    found = fen.sheet.found
    ours = {who.short for who in found.stand.who}
    chapters = {(c.stretch.first, c.stretch.last): c.stretch for c in fen.chapters if c.stretch}
    for stretch in found.stretches:
        if (same := chapters.get((stretch.first, stretch.last))) is not None:
            assert near_said(same, found) == near_said(stretch, found)
    named = re.findall(
        r"with (\w+)", " ".join(" ".join(near_said(s, found)) for s in chapters.values())
    )
    assert named
    assert set(named) <= ours


def test_the_race_that_is_shown_is_one_of_those_that_are_counted(fen: PreviewResult) -> None:
    """Every crossing of the recording is the store's, to the bit."""
    stored = fen.sheet.raced.races[0].crossing_s
    assert np.array_equal(fen.recording.crossing_s, stored, equal_nan=True)


# --- places, laps, what is asked ---


def test_every_place_of_the_coach_has_a_chapter_with_its_picture(fen: PreviewResult) -> None:
    said = [c.place for c in fen.chapters if c.place]
    assert [place.at for place in said] == [p.at for p in read(FEN).places]
    pictured = [place.photo for place in said if (place.at, "photo") in fen.pictures]
    assert pictured == [p.photo for p in read(FEN).places if p.photo]
    assert len([shot for c in fen.walk.chapters for shot in c.shots]) == len(pictured)
    assert len(pictured) == len(PICTURES)


def test_the_coachs_own_sentence_stands_first(fen: PreviewResult) -> None:
    (willows,) = (c for c in fen.walk.chapters if c.title == "Three willows")
    assert (
        willows.own
        == "From here to the stile nobody shouts. Look for the next of ours and run to her."
    )
    assert "Watch for: low branches." in willows.see


def test_every_chapter_says_where_what_you_see_and_what_to_do(fen: PreviewResult) -> None:
    for chapter in fen.walk.chapters:
        assert chapter.where
        assert chapter.see
        assert chapter.do or chapter.own or chapter.title == "Finish"
        assert chapter.film
        assert chapter.map


def test_one_lap_has_nothing_side_by_side(fen: PreviewResult) -> None:
    assert list(each_again(fen.chapters)) == []
    assert laps_part(fen.chapters, fen.sheet.found) is None


def test_what_is_asked_has_one_right_answer(fen: PreviewResult) -> None:
    """Against the chapters themselves: what comes next, how far, which side of the drawn turns."""
    length = fen.day.strip.length_m
    asked = questions_of(fen.chapters, length, "metric")
    titles = [title_words(c, "metric") for c in fen.chapters]
    assert len(asked) > len(titles)
    for question in asked:
        assert len(set(question.answers)) == len(question.answers) >= 2
    turns = {q.ask: q.answers[q.right] for q in asked if "turn?" in q.ask}
    assert turns["Which way does the pump corner turn?"] == "right"
    assert turns["Which way does the alder turn turn?"] == "left"
    nexts = [q.answers[q.right] for q in asked if q.ask.startswith("What comes")]
    assert nexts == titles[1:]
    assert len({q.right for q in asked}) > 1


def test_five_seconds_are_the_recordings_own(fen: PreviewResult) -> None:
    """Unpacked by hand: every position of ours within the quantum of half a centimetre and float32."""
    recording, found = fen.recording, fen.sheet.found
    ours = our_rows(recording, found)
    line = fen.chapters[3]
    ground = place_map(fen.day.strip, _line(fen), (line.from_m, line.to_m), [])
    shown = five_seconds(recording, ours, ground, comes_s(recording, ours, line.focus_m))
    assert shown is not None
    data = shown.data
    count, frames = len(data["ours"]), data["frames"]
    assert frames * data["frame"] == pytest.approx(LASTS_S, abs=2 * data["frame"])
    raw = np.frombuffer(zlib.decompress(base64.b64decode(data["position"]["bends"])), np.uint8)
    low, high = raw[: len(raw) // 2].astype(int), raw[len(raw) // 2 :].astype(int)
    bends = (low | (high << 8)).astype(np.int16).astype(np.int64).reshape(2 * count, frames - 1).T
    first = np.array(data["position"]["first"])
    place = np.vstack([first, first + np.cumsum(np.cumsum(bends, axis=0), axis=0)]) / 100
    begin = int(np.abs(recording.times_s - data["from"]).argmin())
    told = {number: column for column, number in enumerate(data["ours"]) if number}
    assert sorted(told) == list(range(1, len(ours) + 1))
    for number, column in told.items():
        rows = recording.position_m[begin : begin + frames, ours[number - 1]]
        there = ground.turned(rows)
        assert np.abs(place[:, 2 * column : 2 * column + 2] - there).max() < 0.006
    assert five_seconds(recording, ours, ground, 1e5) is None


def _line(fen: PreviewResult) -> Any:
    from simrun.course.route import shortest_line

    return shortest_line(fen.day.strip)


# --- several squads ---


def test_what_differs_between_squads_is_said_and_the_rest_once(fen: PreviewResult) -> None:
    """Placebo: the same squad twice is told everything once. One sentence changed: with whose it is."""
    one = fen.squads[0]
    stand = replace(one.figures.stand, team="Ellerfold B")
    other = replace(one, sheet=replace(one.sheet, found=replace(one.figures, stand=stand)))
    rows = side_by_side([one, other])
    assert [shared(row).mark for row in rows] == [c.mark for c in one.chapters]
    assert all(None not in row for row in rows)
    said = (Said("Go."), Said("Sit."))
    assert told_apart([one, other], [said, said]) == said
    apart = told_apart([one, other], [said, (Said("Go."), Said("Move up."))])
    assert [each.text for each in apart] == ["Go.", "Ellerfold: Sit.", "Ellerfold B: Move up."]


@pytest.mark.slow
def test_two_squads_are_walked_through_together(tmp_path: Path) -> None:
    """Each with its own box, its own seven and its own times; the photographs and the ground once."""
    found = run_preview(read(FEN), tmp_path, ["Ellerfold", "Ashmarl"], seeds=(1,), workers=1)
    line, *others = found.walk.chapters
    assert "Ellerfold: Box 11" in line.where
    assert "Ashmarl: Box 10" in line.where
    assert [len(chapter.ours) for chapter in others] == [2] * len(others)
    assert [table.caption for table in others[0].ours] == ["Ellerfold", "Ashmarl"]
    assert set(found.table["team"]) == {"Ellerfold", "Ashmarl"}
    sheet = run_sheet(read(FEN), tmp_path / "alone", "Ashmarl", seeds=(1,), workers=1)
    assert found.squads[1].sheet.tables["sheet"].equals(sheet.tables["sheet"])


# --- in a browser ---


def opened(browser: Browser, file: Path, **size: Any) -> Iterator[Page]:
    """The page, ready; fails afterwards where anything went wrong in it or it asked for anything."""
    context = browser.new_context(**size)
    page = context.new_page()
    wrong: list[str] = []
    asked: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda told: wrong.append(told.text) if told.type == "error" else None)
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    page.wait_for_selector("body[data-ready]")
    yield page
    assert wrong == []
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    context.close()


@pytest.fixture
def page(browser: Browser, fen: PreviewResult) -> Iterator[Page]:
    size = {"viewport": {"width": 1366, "height": 768}}
    yield from opened(browser, fen.folder / "preview.html", **size)


def title(page: Page) -> str:
    return page.locator(".slide.now :is(h1, h2)").inner_text()


def test_it_is_walked_by_keys_by_hand_and_by_a_presenters_remote(page: Page) -> None:
    cover = title(page)
    for key in ("ArrowRight", "PageDown", " "):
        page.keyboard.press(key)
    assert page.locator("#count").inner_text() == "3 of 12"
    assert page.locator(".slide:visible").count() == 1
    for key in ("PageUp", "ArrowLeft"):
        page.keyboard.press(key)
    assert title(page) == "1 The line"
    page.get_by_role("button", name="next", exact=True).click()
    assert title(page) == "2 Tea tent"
    page.keyboard.press("End")
    assert title(page) == "Know it by heart"
    page.keyboard.press("c")
    assert title(page) == cover
    page.get_by_role("link", name="Pump corner").click()
    assert title(page) == "5 Pump corner"
    page.keyboard.press("b")
    assert page.locator(".dark").is_visible()
    page.keyboard.press("b")
    assert page.locator(".dark").count() == 0
    page.keyboard.press("t")
    page.locator("#timer", has_text="0:01").wait_for()
    page.keyboard.press("t")


def test_the_five_seconds_play_and_the_course_is_ridden(page: Page) -> None:
    """Ours are where the recording has them after the last frame; the map comes back."""
    page.keyboard.press("PageDown")
    whole = page.locator(".slide.now svg").get_attribute("viewBox")
    page.emulate_media(reduced_motion="no-preference")
    page.keyboard.press("p")
    page.wait_for_selector(".slide.now figure[data-playing]")
    assert page.locator(".slide.now .people circle.ours").count() == 7
    assert page.locator(".slide.now .people circle").count() > 40
    assert page.locator(".slide.now svg").get_attribute("viewBox") != whole
    page.keyboard.press("p")
    assert page.locator(".slide.now svg").get_attribute("viewBox") == whole
    page.locator(".slide.now .ride").click()
    drawn = "c => new Set(c.getContext('2d').getImageData(0, 0, c.width, c.height).data).size"
    page.wait_for_timeout(100)
    assert page.locator(".slide.now canvas.eye").evaluate(drawn) > 8
    assert not page.locator(".slide.now svg").is_visible()
    page.keyboard.press("PageDown")
    page.keyboard.press("PageUp")
    assert page.locator(".slide.now svg").is_visible()


def test_a_sentence_opens_to_its_figure_and_the_coach_sees_the_notes_elsewhere(page: Page) -> None:
    """The second window turns the pages of the first, and the other way round."""
    for _ in range(2):
        page.keyboard.press("PageDown")
    page.locator(".slide.now summary").first.click()
    assert "faster runners would come past" in page.locator(".slide.now details[open]").inner_text()
    assert not page.locator(".slide.now .coach").is_visible()
    with page.expect_popup() as second:
        page.keyboard.press("n")
    notes = second.value
    notes.wait_for_selector("body.coach[data-ready]")
    notes.locator("#count", has_text="2 of 12").wait_for()
    assert "loud here" in notes.locator(".slide.now .coach").inner_text()
    page.keyboard.press("PageDown")
    notes.locator("#count", has_text="3 of 12").wait_for()
    notes.keyboard.press("PageUp")
    page.locator("#count", has_text="2 of 12").wait_for()


def test_it_fits_a_phone_and_is_swiped(browser: Browser, fen: PreviewResult) -> None:
    size = {"viewport": {"width": 390, "height": 844}, "has_touch": True}
    for page in opened(browser, fen.folder / "preview.html", **size):
        for number in range(len(fen.walk.chapters) + 3):
            wide = page.evaluate("document.documentElement.scrollWidth")
            assert wide <= 390, number
            page.keyboard.press("PageDown")
        page.keyboard.press("Home")
        swipe = """([from, to]) => {
            const touch = (x) => new Touch(
              { identifier: 1, target: document.body, clientX: x, clientY: 400 });
            const tell = (kind, x, all) => document.body.dispatchEvent(new TouchEvent(kind,
              { bubbles: true, touches: all ? [touch(x)] : [], changedTouches: [touch(x)] }));
            tell("touchstart", from, true);
            tell("touchend", to, false);
        }"""
        page.evaluate(swipe, [300, 120])
        assert title(page) == "1 The line"
        page.evaluate(swipe, [200, 180])
        assert title(page) == "1 The line"
        page.evaluate(swipe, [100, 300])
        assert page.locator("#count").inner_text() == "0 of 12"


@pytest.mark.slow
def test_the_team_is_asked_and_the_phone_alone_keeps_the_answers(
    browser: Browser, fen: PreviewResult
) -> None:
    for page in opened(browser, fen.folder / "preview.html"):
        page.keyboard.press("End")
        count = len(fen.walk.quiz)
        for question in fen.walk.quiz:
            assert question.ask in page.locator("#ask").inner_text()
            page.locator("#answers button").nth(question.right).click()
            page.get_by_role("button", name="go on").click()
        assert page.locator("#ask").inner_text() == f"{count} of {count} right."
        kept = page.evaluate("Object.entries(localStorage)")
        assert [json.loads(value) for _, value in kept] == [[count]]


@pytest.mark.parametrize("size", [(1366, 768), pytest.param((1920, 1080), marks=pytest.mark.slow)])
def test_a_chapter_fits_the_projector(
    browser: Browser, fen: PreviewResult, size: tuple[int, int]
) -> None:
    """Nothing has to be scrolled to: no chapter is higher or wider than the screen."""
    screen = {"viewport": {"width": size[0], "height": size[1]}}
    for page in opened(browser, fen.folder / "preview.html", **screen):
        for number in range(1, len(fen.walk.chapters) + 1):
            page.keyboard.press("PageDown")
            high, wide = page.evaluate(
                "[document.documentElement.scrollHeight, document.documentElement.scrollWidth]"
            )
            assert high <= size[1], (number, high)
            assert wide <= size[0], number


def test_a_screen_reader_is_told_every_chapter_and_paper_has_all_of_them(
    page: Page, fen: PreviewResult, tmp_path: Path
) -> None:
    """By its tree: the heading, the picture, the map, the table. On at most four sheets, with the notes."""
    page.keyboard.press("PageDown")
    tree = page.locator(".slide.now").aria_snapshot()
    assert 'heading "1 The line"' in tree
    assert 'img "The line, looking ahead: the gap in the hedge' in tree
    assert 'img "Map: the line to the tea tent' in tree
    assert 'button "play five seconds"' in tree
    page.emulate_media(media="print")
    assert page.locator(".chapter:visible").count() == len(fen.walk.chapters)
    assert page.locator(".chapter .coach:visible").count() == 3
    assert page.locator(".quiz:visible, .bar:visible, .ride:visible").count() == 0
    # The lower of the two papers.
    printed = page.pdf(format="Letter")
    assert 1 <= len(re.findall(rb"/Type\s*/Page[^s]", printed)) <= MOST_SHEETS


# --- large, hostile, missing ---


def walk_with(fen: PreviewResult, chapters: tuple[Chapter, ...], pictures: Pictures) -> Walk:
    """The same walk with other places and pictures."""
    squad = replace(fen.squads[0], chapters=chapters)
    return replace(fen, squads=(squad,), pictures=pictures).walk


@pytest.mark.slow
def test_ten_photographs_stay_below_eight_megabytes(fen: PreviewResult, tmp_path: Path) -> None:
    """Grainy ones, as large as the page lets them be."""
    from simrun.answers.whole.preview.run import MOST_PICTURE_BYTES, MOST_PICTURES_BYTES

    assert 10 * MOST_PICTURE_BYTES <= MOST_PICTURES_BYTES
    assert len(fen.chapters) == 10
    places = [
        PlaceTable.model_validate({"at": chapter.mark.at_m, "photo": "a.jpg"})
        for chapter in fen.chapters
    ]
    full = {(place.at, "photo"): b"\xff" * MOST_PICTURE_BYTES for place in places}
    chapters = tuple(replace(c, place=p) for c, p in zip(fen.chapters, places, strict=True))
    path = write_walk(walk_with(fen, chapters, full), tmp_path / "large.html")
    assert path.read_text("utf-8").count("data:image/jpeg") == 10
    assert path.stat().st_size < MOST_BYTES


@pytest.mark.slow
def test_hostile_words_do_nothing_in_a_browser(
    browser: Browser, fen: PreviewResult, tmp_path: Path
) -> None:
    """As a name, a note, what is seen, a file's name: shown as written."""
    hostile = (
        "<img src=x onerror=\"document.title='run'\"></script><script>document.title='run'</script>"
    )
    place = fen.chapters[1].place
    assert place is not None
    worst = place.model_copy(update=dict.fromkeys(("name", "see", "note", "coach"), hostile))
    chapters = tuple(replace(c, place=worst) if k == 1 else c for k, c in enumerate(fen.chapters))
    path = write_walk(walk_with(fen, chapters, fen.pictures), tmp_path / "hostile.html")
    for page in opened(browser, path):
        page.keyboard.press("End")
        page.keyboard.press("Home")
        page.keyboard.press("PageDown")
        page.keyboard.press("PageDown")
        assert page.title() == fen.walk.title
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


def test_a_team_that_is_not_there_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="Ellerfold"):
        run_preview(read(FEN), tmp_path, ["Elerfold"], seeds=(1,))


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


@pytest.mark.slow
def test_laps_stand_side_by_side_where_something_changes(tmp_path: Path) -> None:
    """The farm race: the barn corner outside on the first lap and inside on the second, as told; where
    nothing differs nothing is shown."""
    day = read(SCENARIOS / "ferry_meadow.toml")
    lines = {"willow bend@1": "outside", "willow bend@2": "inside"}
    day = day.changed({"teams.Alderbrook.lines": lines, "teams.Alderbrook.line": "inside"})
    found = run_preview(day, tmp_path, seeds=(1,), workers=1)
    part = laps_part(found.chapters, found.sheet.found)
    assert part is not None
    told = {table.caption: table.rows for table in part.tables}
    (row,) = (row for row in told["Water trough"] if row[0] == "which line")
    assert row[1].startswith("Outside at the willow bend")
    assert row[2].startswith("Inside at the willow bend")
    # On the second lap the finish comes before the barn corner: no line has changed by that.
    assert not any(row[0] == "which line" for row in told.get("Scarecrow", ()))
    same = [(one, one) for one in found.chapters]
    assert all(row is None for one in same for row in _rows(one, found))


def _rows(same: Any, found: PreviewResult) -> list[Any]:
    from simrun.answers.whole.preview.lap_words import lap_rows

    return lap_rows(same, found.sheet.found)
