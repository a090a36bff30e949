"""The walk in a browser: by keys, hand and remote, on a phone and a projector, read aloud and printed."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from simrun.answers.whole.preview.result import PreviewResult
from tests.helpers.seen_page import broken
from tests.helpers.walked import opened, sheets, title

MOST_SHEETS = 4


@pytest.fixture
def page(browser: Browser, fen_walk: PreviewResult) -> Iterator[Page]:
    size = {"viewport": {"width": 1366, "height": 768}}
    yield from opened(browser, fen_walk.folder / "preview.html", **size)


def test_it_is_walked_by_keys_by_hand_and_by_a_presenters_remote(page: Page) -> None:
    cover = title(page)
    for key in ("ArrowRight", "PageDown", " "):
        page.keyboard.press(key)
    assert page.locator("#count").inner_text() == "3 of 13"
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
    notes.locator("#count", has_text="2 of 13").wait_for()
    assert "loud here" in notes.locator(".slide.now .coach").inner_text()
    page.keyboard.press("PageDown")
    notes.locator("#count", has_text="3 of 13").wait_for()
    notes.keyboard.press("PageUp")
    page.locator("#count", has_text="2 of 13").wait_for()


def test_it_fits_a_phone_and_is_swiped(browser: Browser, fen_walk: PreviewResult) -> None:
    size = {"viewport": {"width": 390, "height": 844}, "has_touch": True}
    for page in opened(browser, fen_walk.folder / "preview.html", **size):
        for number in range(len(fen_walk.walk.chapters) + 3):
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
        assert page.locator("#count").inner_text() == "0 of 13"


@pytest.mark.slow
def test_the_team_is_asked_and_the_phone_alone_keeps_the_answers(
    browser: Browser, fen_walk: PreviewResult
) -> None:
    for page in opened(browser, fen_walk.folder / "preview.html"):
        page.keyboard.press("End")
        count = len(fen_walk.walk.quiz)
        for question in fen_walk.walk.quiz:
            assert question.ask in page.locator("#ask").inner_text()
            page.locator("#answers button").nth(question.right).click()
            page.get_by_role("button", name="go on").click()
        assert page.locator("#ask").inner_text() == f"{count} of {count} right."
        kept = page.evaluate("Object.entries(localStorage)")
        assert [json.loads(value) for _, value in kept] == [[count]]


@pytest.mark.parametrize("size", [(1366, 768), pytest.param((1920, 1080), marks=pytest.mark.slow)])
def test_a_chapter_fits_the_projector(
    browser: Browser, fen_walk: PreviewResult, size: tuple[int, int]
) -> None:
    """Nothing has to be scrolled to: no chapter is higher or wider than the screen."""
    screen = {"viewport": {"width": size[0], "height": size[1]}}
    for page in opened(browser, fen_walk.folder / "preview.html", **screen):
        for number in range(1, len(fen_walk.walk.chapters) + 1):
            page.keyboard.press("PageDown")
            high, wide = page.evaluate(
                "[document.documentElement.scrollHeight, document.documentElement.scrollWidth]"
            )
            assert high <= size[1], (number, high)
            assert wide <= size[0], number


def read_aloud(page: Page) -> list[tuple[str, str]]:
    """Role and name of everything that a screen reader meets, in its order: the browser's own tree."""
    session = page.context.new_cdp_session(page)
    nodes = {node["nodeId"]: node for node in session.send("Accessibility.getFullAXTree")["nodes"]}
    session.detach()
    (root,) = (node for node in nodes.values() if "parentId" not in node)
    found: list[tuple[str, str]] = []
    waiting = [root]
    while waiting:
        node = waiting.pop()
        if not node["ignored"]:
            found.append((node["role"]["value"], node.get("name", {}).get("value", "").strip()))
        waiting += [nodes[child] for child in reversed(node.get("childIds", ())) if child in nodes]
    return found


NAMED = {
    "heading",
    "image",
    "button",
    "link",
    "region",
    "navigation",
    "checkbox",
    "Canvas",
    "Video",
}
"""Whoever cannot see these needs their name."""


@pytest.mark.parametrize("wide", [390, 1366, pytest.param(1920, marks=pytest.mark.slow)])
def test_a_screen_reader_reads_the_whole_walk_in_order(
    browser: Browser, fen_walk: PreviewResult, wide: int
) -> None:
    """Slide by slide: its name, its pictures by what they show, its words in order, its table."""
    shown = fen_walk.walk.chapters
    for page in opened(
        browser, fen_walk.folder / "preview.html", viewport={"width": wide, "height": 800}
    ):
        for slide in shown:
            page.keyboard.press("PageDown")
            told = read_aloud(page)
            assert [(role, name) for role, name in told if role in NAMED and not name] == []
            names = [name for _, name in told]
            headings = [name for role, name in told if role == "heading"]
            assert len(headings) == 1
            assert headings[0].endswith(slide.title)
            pictures = [name for role, name in told if role == "image"]
            stills = [shot.alt for shot in slide.shots if not shot.film]
            assert pictures == [*stills, slide.map_alt]
            films = [name for role, name in told if role == "Video"]
            assert films == [shot.alt for shot in slide.shots if shot.film]
            spoken = " ".join(
                name for role, name in told if role in ("StaticText", "DisclosureTriangle")
            )
            wanted = [slide.where, *slide.see, slide.own, *(said.text for said in slide.do)]
            places = [spoken.find(words) for words in wanted if words]
            assert -1 not in places
            assert places == sorted(places)
            assert names.index(headings[0]) < names.index(slide.map_alt) < names.index(slide.where)
            for table in slide.ours:
                assert [role for role, _ in told].count("columnheader") == len(
                    [h for h in table.head if h]
                )


@pytest.mark.slow
@pytest.mark.parametrize("wide", [390, 1366, 1920])
def test_no_slide_breaks_the_rules_for_everybody(
    browser: Browser, fen_walk: PreviewResult, wide: int
) -> None:
    """By the rules of shared/axe, every slide and the coach's window; a planted breach is found."""
    size = {"viewport": {"width": wide, "height": 800}}
    for page in opened(browser, fen_walk.folder / "preview.html", **size):
        for number in range(len(fen_walk.walk.chapters) + 4):
            assert broken(page) == [], number
            page.keyboard.press("PageDown")
        page.keyboard.press("Home")
        assert broken(page, "document.querySelector('#on').textContent = ''")


@pytest.mark.parametrize("wide", [390, 1366, pytest.param(1920, marks=pytest.mark.slow)])
def test_it_is_walked_by_keys_alone_and_by_touch_alone(
    browser: Browser, fen_walk: PreviewResult, wide: int
) -> None:
    """Tab and Enter reach next, a sentence's figure and the contents; a finger does too."""
    size = {"viewport": {"width": wide, "height": 800}, "has_touch": True}
    for page in opened(browser, fen_walk.folder / "preview.html", **size):
        page.locator("#on").focus()
        page.keyboard.press("Enter")
        assert title(page) == "1 The line"
        page.keyboard.press("PageDown")
        summary = page.locator(".slide.now summary").first
        for _ in range(30):
            page.keyboard.press("Tab")
            if summary.evaluate("one => one === document.activeElement"):
                break
        page.keyboard.press(" ")
        assert page.locator(".slide.now details[open]").count() == 1
        assert title(page) == "2 Tea tent", "space opens what is focused and turns no page"
        page.locator("#contents").tap()
        page.get_by_role("link", name="Cattle trough").tap()
        assert title(page) == "9 Cattle trough"
        page.locator("#back").tap()
        assert title(page) == "8 Fen path"


def test_paper_has_every_chapter_and_the_notes_only_if_asked(
    page: Page, fen_walk: PreviewResult
) -> None:
    """On at most four sheets, with the notes too; nothing that only works on a screen."""
    page.emulate_media(media="print")
    assert page.locator(".chapter:visible").count() == len(fen_walk.walk.chapters)
    assert page.locator(".chapter .coach:visible").count() == 0
    assert page.locator(".quiz:visible, .bar:visible, .ride:visible").count() == 0
    for paper in ("Letter", "A4"):
        assert 1 <= sheets(page, paper) <= MOST_SHEETS
    page.emulate_media(media="screen")
    page.get_by_label("Print the coach's notes too").check()
    assert page.locator(".coach:visible").count() == 0
    page.emulate_media(media="print")
    assert page.locator(".chapter .coach:visible").count() == 3
    assert sheets(page, "Letter") <= MOST_SHEETS


def test_the_coachs_window_is_turned_by_the_remote_too_and_prints_the_notes(page: Page) -> None:
    """PageUp and PageDown in either window, whichever has the focus; a remote's black screen in its own."""
    with page.expect_popup() as second:
        page.get_by_role("button", name="coach's notes").click()
    notes = second.value
    notes.wait_for_selector("body.coach[data-ready]")
    for window, key, count in (
        (notes, "PageDown", "1 of"),
        (page, "PageDown", "2 of"),
        (notes, "PageUp", "1 of"),
        (page, "PageUp", "0 of"),
        (notes, "PageDown", "1 of"),
    ):
        window.keyboard.press(key)
        for each in (page, notes):
            each.locator("#count", has_text=count).wait_for()
    page.keyboard.press("b")
    assert page.locator(".dark").is_visible()
    assert notes.locator(".dark").count() == 0
    assert "dead elm" not in notes.locator(".slide.now .coach").inner_text()
    assert "where is the elm" in notes.locator(".slide.now .coach").inner_text()
    notes.emulate_media(media="print")
    assert notes.locator(".chapter .coach:visible").count() == 3
