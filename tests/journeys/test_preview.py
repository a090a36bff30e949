"""The walk through the course: what it says, held against the sheet; its places, laps and squads."""

from __future__ import annotations

import base64
import re
import zlib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser

from simrun.answers.card.card_races import Timed
from simrun.answers.card.words import advice_words
from simrun.answers.chase.run import run_chase
from simrun.answers.sheet.page import page_of as sheet_page
from simrun.answers.sheet.run import run_sheet
from simrun.answers.sheet.words import near_said, said_of, sentence_of
from simrun.answers.whole.preview.beside_words import CROSS_WITH_CARE, SPECTATORS
from simrun.answers.whole.preview.chapters import each_again
from simrun.answers.whole.preview.heart_words import questions_of
from simrun.answers.whole.preview.lap_words import laps_part
from simrun.answers.whole.preview.page import comes_s, our_rows
from simrun.answers.whole.preview.result import PreviewResult
from simrun.answers.whole.preview.run import run_preview
from simrun.answers.whole.preview.squads import shared, side_by_side, told_apart
from simrun.answers.whole.preview.words import TOO_EARLY, do_said, title_words, to_go_said
from simrun.base.errors import BadInput
from simrun.pages.frame import html_of
from simrun.pages.page import Figure
from simrun.pages.walk import Said, write_walk
from simrun.pictures.walk.five_seconds import LASTS_S, five_seconds
from simrun.pictures.walk.place_map import place_map
from simrun.scenario.reader import read
from tests.helpers.invented_clip import NAME as CLIP
from tests.helpers.invented_pictures import PICTURES
from tests.helpers.walked import opened, sheets

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FEN = SCENARIOS / "brindle_fen.toml"


# --- one source of sentences ---


def test_what_the_walk_says_to_do_is_what_the_sheet_says(fen_walk: PreviewResult) -> None:
    """Mark by mark the same sentences, the same headline, the same cells; and none is made anew."""
    found = fen_walk.sheet.found
    told = {each.mark.at_m: each for each in found.marks}
    assert {c.mark.at_m for c in fen_walk.chapters} >= set(told)
    for chapter in fen_walk.chapters:
        if chapter.mark.at_m in told:
            assert chapter.told == told[chapter.mark.at_m]
            said = [one.text for one in do_said(chapter, found)]
            of_sheet = list(said_of(told[chapter.mark.at_m], found))
            ground = chapter.told.passing
            assert said == (of_sheet or [advice_words(ground.word, ground)] if ground else of_sheet)
    assert fen_walk.sentence == sentence_of(found)
    sheet = html_of(sheet_page(found, Figure(b"", "")))
    page = (fen_walk.folder / "preview.html").read_text("utf-8")
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


def test_the_sheet_of_the_same_races_is_the_same(fen_walk: PreviewResult) -> None:
    """Asked for by itself, in the same folder: no race is run again, and every figure is alike."""
    sheet = run_sheet(read(FEN), fen_walk.folder, seeds=(1,), workers=1)
    assert sheet.tables["sheet"].equals(fen_walk.sheet.tables["sheet"])
    assert sheet.sentence == fen_walk.sentence


def test_the_card_finds_the_same_room_on_the_same_ground(fen_walk: PreviewResult) -> None:
    """Sit, move or choose: the card's own way of counting, asked of the same races and ground."""
    raced = fen_walk.sheet.raced
    card = Timed(raced.station_m, list(raced.races))
    for chapter in fen_walk.chapters[1:-1]:
        passing = card.passing(chapter.mark.at_m, chapter.to_m)
        assert passing.word == chapter.told.passing.word
        assert passing.open_share == pytest.approx(chapter.told.passing.open_share, nan_ok=True)


def test_who_runs_with_whom_is_the_sheets_on_the_sheets_own_stretch(
    fen_walk: PreviewResult,
) -> None:
    """Where a stretch of the sheet is one chapter the words are the same; finer ones name people of ours."""
    found = fen_walk.sheet.found
    ours = {who.short for who in found.stand.who}
    chapters = {
        (c.stretch.first, c.stretch.last): c.stretch for c in fen_walk.chapters if c.stretch
    }
    for stretch in found.stretches:
        if (same := chapters.get((stretch.first, stretch.last))) is not None:
            assert near_said(same, found) == near_said(stretch, found)
    named = re.findall(
        r"with (\w+)", " ".join(" ".join(near_said(s, found)) for s in chapters.values())
    )
    assert named
    assert set(named) <= ours


def test_the_race_that_is_shown_is_one_of_those_that_are_counted(fen_walk: PreviewResult) -> None:
    """Every crossing of the recording is the store's, to the bit."""
    stored = fen_walk.sheet.raced.races[0].crossing_s
    assert np.array_equal(fen_walk.recording.crossing_s, stored, equal_nan=True)


def test_so_far_to_go_is_where_the_coach_looks_and_says_what_chasing_says(
    fen_walk: PreviewResult, tmp_path: Path
) -> None:
    """By hand from the file: 856.2 m, the wind pump at 400, the fen path at 600, the trough at 720 m. What a
    kick wins is what `simrun chase` counts of the same race, to the last bit, and is not counted too early.
    """
    (squad,) = fen_walk.squads
    told = [(one.far_m, one.mark.name, round(one.mark.off_m)) for one in squad.to_go]
    assert told == [(400, "wind pump", 56), (200, "fen path", 56), (100, "cattle trough", 36)]
    early, *counted = squad.to_go
    assert to_go_said(early, squad.figures) == Said(TOO_EARLY)
    chase = run_chase(read(FEN), tmp_path, (1,), (5.0,), (20.0,), workers=1).tables["chase_kick"]
    for way in ("kick", "plan"):
        mine = getattr(counted[0], way)
        (theirs,) = chase[(chase.to_go_m == 200) & (chase.way == mine["way"])].to_dict("records")
        for key in ("our_places", "winners_p10", "most_p90", "our_most_p10"):
            assert mine[key] == theirs[key], key
    assert counted[0].kick["winners_p10"] > 0


# --- places, laps, what is asked ---


def test_every_place_of_the_coach_has_a_chapter_with_its_picture(fen_walk: PreviewResult) -> None:
    said = [c.place for c in fen_walk.chapters if c.place]
    assert [place.at for place in said] == [p.at for p in read(FEN).places]
    pictured = [place.photo for place in said if (place.at, "photo") in fen_walk.pictures]
    assert pictured == [p.photo for p in read(FEN).places if p.photo]
    shots = [shot for c in fen_walk.walk.chapters for shot in c.shots]
    assert len([shot for shot in shots if not shot.film]) == len(pictured) == len(PICTURES)
    assert [place.clip for place in said if (place.at, "clip") in fen_walk.pictures] == [CLIP]
    assert [shot.caption for shot in shots if shot.film] == [f"{CLIP}, 0:00 to 0:06"]


def test_the_coachs_own_sentence_stands_first(fen_walk: PreviewResult) -> None:
    (willows,) = (c for c in fen_walk.walk.chapters if c.title == "Three willows")
    assert (
        willows.own
        == "From here to the stile nobody shouts. Look for the next of ours and run to her."
    )
    assert "Watch for: low branches." in willows.see


def test_every_chapter_says_where_what_you_see_and_what_to_do(fen_walk: PreviewResult) -> None:
    for chapter in fen_walk.walk.chapters:
        assert chapter.where
        assert chapter.see
        assert chapter.do or chapter.own or chapter.title == "Finish"
        assert chapter.film
        assert chapter.map


def test_one_lap_has_nothing_side_by_side(fen_walk: PreviewResult) -> None:
    assert list(each_again(fen_walk.chapters)) == []
    assert laps_part(fen_walk.chapters, fen_walk.sheet.found) is None


def test_what_is_asked_has_one_right_answer(fen_walk: PreviewResult) -> None:
    """Against the chapters themselves: what comes next, how far, which side of the drawn turns."""
    length = fen_walk.day.strip.length_m
    asked = questions_of(fen_walk.chapters, length, "metric")
    titles = [title_words(c, "metric") for c in fen_walk.chapters]
    assert len(asked) > len(titles)
    for question in asked:
        assert len(set(question.answers)) == len(question.answers) >= 2
    turns = {q.ask: q.answers[q.right] for q in asked if "turn?" in q.ask}
    assert turns["Which way does the pump corner turn?"] == "right"
    assert turns["Which way does the alder turn turn?"] == "left"
    nexts = [q.answers[q.right] for q in asked if q.ask.startswith("What comes")]
    assert nexts == titles[1:]
    assert len({q.right for q in asked}) > 1


def test_five_seconds_are_the_recordings_own(fen_walk: PreviewResult) -> None:
    """Unpacked by hand: every position of ours within the quantum of half a centimetre and float32."""
    recording, found = fen_walk.recording, fen_walk.sheet.found
    ours = our_rows(recording, found)
    line = fen_walk.chapters[3]
    ground = place_map(fen_walk.day.strip, _line(fen_walk), (line.from_m, line.to_m), [])
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


def _line(fen_walk: PreviewResult) -> Any:
    from simrun.course.route import shortest_line

    return shortest_line(fen_walk.day.strip)


# --- several squads ---


def test_what_differs_between_squads_is_said_and_the_rest_once(fen_walk: PreviewResult) -> None:
    """Placebo: the same squad twice is told everything once. One sentence changed: with whose it is."""
    one = fen_walk.squads[0]
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
def test_two_squads_are_walked_through_together(browser: Browser, tmp_path: Path) -> None:
    """Each with its own box, its own seven and its own times; the photographs and the ground once. They fit
    the projector side by side, and four sheets."""
    found = run_preview(read(FEN), tmp_path, ["Ellerfold", "Ashmarl"], seeds=(1,), workers=1)
    line, *others = found.walk.chapters
    assert "Ellerfold: Box 11" in line.where
    assert "Ashmarl: Box 10" in line.where
    assert [len(chapter.ours) for chapter in others] == [2] * len(others)
    assert [table.caption for table in others[0].ours] == ["Ellerfold", "Ashmarl"]
    assert set(found.table["team"]) == {"Ellerfold", "Ashmarl"}
    sheet = run_sheet(read(FEN), tmp_path / "alone", "Ashmarl", seeds=(1,), workers=1)
    assert found.squads[1].sheet.tables["sheet"].equals(sheet.tables["sheet"])
    path, size = write_walk(found.walk, tmp_path / "two.html"), {"width": 1366, "height": 768}
    for page in opened(browser, path, viewport=size):
        for number in range(1, len(found.walk.chapters) + 1):
            page.keyboard.press("PageDown")
            assert page.evaluate("document.documentElement.scrollHeight") <= size["height"], number
            assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], number
        page.emulate_media(media="print")
        assert all(sheets(page, paper) <= 4 for paper in ("Letter", "A4"))


# --- missing; laps ---


def test_a_team_that_is_not_there_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="Ellerfold"):
        run_preview(read(FEN), tmp_path, ["Elerfold"], seeds=(1,))


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


# --- who walks where, who may cross ---


def test_every_turn_and_narrowing_is_asked_who_walks_there_once(fen_walk: PreviewResult) -> None:
    """Each of them on one slide, its own or the one before; shares of those who come among ours."""
    told = [
        (at_m, walks) for at_m, there in fen_walk.squads[0].sides.items() for walks in there.walks
    ]
    gates = [gate.name for gate in fen_walk.day.strip.gates]
    assert [walks.gate.name for _, walks in told] == gates
    titles = {c.mark.at_m: title_words(c, "metric") for c in fen_walk.chapters}
    assert {walks.gate.name: titles[at_m] for at_m, walks in told}["pump corner"] == "Pump corner"
    assert len(fen_walk.tables["preview_sides"]) == len(gates)
    for _, walks in told:
        assert not walks.beyond_chance, "one race shows nothing"
        assert 0 <= walks.all_over.middle <= 1


def test_nobody_comes_by_when_the_table_says_so(fen_walk: PreviewResult) -> None:
    """Against the frames of the race: whoever is within ten metres of the spot then is a lie."""
    (part,) = (part for part in fen_walk.walk.after if part.title == SPECTATORS)
    assert part.text[-1] == CROSS_WITH_CARE
    recording, strip = fen_walk.recording, fen_walk.day.strip
    where = {title_words(c, "metric"): c.mark.at_m for c in fen_walk.chapters}
    (table,) = part.tables
    assert len(table.rows) == len(fen_walk.chapters) - 1
    looked = 0
    for name, ours, free in table.rows:
        spot = np.array(strip.point_at(where[name]))
        near = np.hypot(*np.moveaxis(recording.position_m - spot, 2, 0)) < 10.0
        seen = near.any(axis=1)
        for begin, end in _spans(free):
            inside = (recording.times_s > begin) & (recording.times_s < end)
            assert not seen[inside].any(), (name, free)
            looked += inside.sum()
        begin, end = (_seconds(text) for text in ours.split(" to "))
        around = (recording.times_s >= begin - 3) & (recording.times_s <= end + 3)
        assert near[around][:, our_rows(recording, fen_walk.sheet.found)].any()
    assert looked > 1000


def _seconds(clock: str) -> float:
    minutes, seconds = clock.split(":")
    return 60 * int(minutes) + int(seconds)


def _spans(text: str) -> list[tuple[float, float]]:
    found = []
    for part in text.split(", "):
        if part.startswith("before "):
            found.append((0.0, _seconds(part.removeprefix("before "))))
        elif part.startswith("after "):
            found.append((_seconds(part.removeprefix("after ")), np.inf))
        elif " to " in part:
            begin, end = part.split(" to ")
            found.append((_seconds(begin), _seconds(end)))
    return found


def test_the_talk_lasts_as_long_as_it_takes_to_say(fen_walk: PreviewResult) -> None:
    """More to say, a longer talk; or as long as is asked for."""
    long = " ".join(["word"] * 260)
    one, *rest = fen_walk.walk.chapters
    longer = replace(fen_walk.walk, chapters=(replace(one, coach=long), *rest))
    assert 3 <= fen_walk.walk.talk_minutes <= 12
    assert longer.talk_minutes - fen_walk.walk.talk_minutes in (1, 2)
    assert replace(fen_walk, talk=5).walk.talk_minutes == 5
