"""Three people and their day at the desk, from nothing to the printed paper, with real clicks."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import Browser, Page

from simrun.cli import main
from simrun.scenario.reader import read
from tests.helpers.desks import (
    folder_with,
    open_desk,
    opened_by,
    page_of,
    pasted,
    run_to_the_sheet,
    settled,
    typed,
    until,
)
from tests.helpers.watch_tracks import recorded_along

pytestmark = pytest.mark.slow

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ENTRIES, BOXES = (
    (SCENARIOS / f"brindle_fen_{kind}.csv").read_text("utf-8") for kind in ("entries", "boxes")
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return folder_with(tmp_path_factory.mktemp("days"), "brindle_fen")


@pytest.fixture(scope="module")
def address(folder: Path) -> Iterator[str]:
    with open_desk(folder) as address:
        yield address


def lists_kept(page: Page) -> None:
    """The two papers pasted, ours chosen, and kept."""
    page.click("#step-people")
    pasted(page, "#entries", ENTRIES)
    pasted(page, "#box-sheet", BOXES)
    page.get_by_text("Understood: 84 runners in 12 teams, 12 boxes").wait_for()
    page.select_option("#list-ours", "Ellerfold")
    page.click("#keep-lists")
    page.get_by_text("84 runners in 12 teams stand on the line").wait_for()


def line_typed(page: Page) -> None:
    page.click("#step-line")
    for key, value in (("width", "45"), ("boxes", "14"), ("box_width", "2.5"), ("front_row", "3")):
        typed(page, f"#of-{key}", value)


def test_a_coach_from_a_noisy_watch_track_and_two_pasted_lists(
    browser: Browser, address: str, folder: Path, tmp_path: Path
) -> None:
    """A watch worn round the fen becomes a course; the lists say who runs; the plan, the races, the sheet."""
    track, walked = tmp_path / "meadow loop.gpx", read(SCENARIOS / "brindle_fen.toml").strip
    inside = slice(1, walked.finish_cut + 1)
    track.write_text(recorded_along(walked.middle_m[inside], 3), encoding="utf-8")
    with page_of(browser, address) as page:
        page.click("#fresh")
        page.fill("#new-name", "Meadow loop")
        page.set_input_files("#track", track)
        until(page, "document.title.startsWith('Meadow loop')", timeout=120_000)
        page.get_by_text("A watch cannot measure widths").wait_for()
        line_typed(page)
        lists_kept(page)
        page.click("#step-plan")
        page.focus("#stands-3")
        page.keyboard.press("ArrowUp")
        until(page, "document.getElementById('stands-0').textContent.includes('Oro Norer')")
        until(page, "document.querySelectorAll('#hard select').length === 7", timeout=60_000)
        options = page.locator("#hard-0 option").all_text_contents()
        seconds = [float(text.split()[0]) for text in options[1:]]
        assert seconds == sorted(seconds, reverse=True)
        page.select_option("#hard-0", index=3)
        until(page, "document.getElementById('hard-0')?.selectedIndex === 2")
        page.select_option("#others-go", "wild")
        settled(page)
        sheet = run_to_the_sheet(page)
        assert "Oro Norer" in (sheet.text_content("body") or "")
    day = read(folder / "meadow_loop.toml")
    ours = next(team for team in day.teams if team.ours)
    told = (ours.name, ours.front[0], day.start.boxes, day.runners)
    assert told == ("Ellerfold", "Oro Norer", 14, 84)
    assert [person.opening for person in ours.people if person.opening is not None] == [0.12]
    assert (day.field.start, ours.start) == ("wild", "usual")
    assert day.strip.length_m == pytest.approx(walked.length_m, rel=0.05)
    assert (folder / "outputs" / "meadow_loop" / "sheet_a4.pdf").read_bytes()[:5] == b"%PDF-"
    assert main(["check", str(folder / "meadow_loop.toml"), "--quiet"]) == 0


def a_map_picture() -> bytes:
    """A picture of a map: 1000 x 700 pixels, a path, and a bar of 100 m that is 200 pixels long."""
    picture = Image.new("RGB", (1000, 700), "#dfe8d2")
    pen = ImageDraw.Draw(picture)
    pen.line([(100, 600), (500, 600), (800, 450), (750, 200), (350, 250)], fill="#8b6f4e", width=10)
    pen.line([(700, 660), (900, 660)], fill="black", width=4)
    data = io.BytesIO()
    picture.save(data, "PNG")
    return data.getvalue()


def clicked_on_picture(page: Page, x: float, y: float) -> None:
    """A click where this pixel of the picture lies now."""
    box = page.evaluate("document.querySelector('#map image').getBoundingClientRect().toJSON()")
    page.mouse.click(box["x"] + box["width"] * x / 1000, box["y"] + box["height"] * y / 700)


def put(page: Page, at: str, kind: str, name: str, **told: str) -> None:
    """A place by its metres, as by a click: what is there, and what is asked of it."""
    page.click("#step-ground")
    page.fill("#place-at", at)
    page.click("#place-ask")
    page.select_option("#place-kind", kind)
    page.fill("#place-name", name)
    for key, value in told.items():
        page.fill(f"#place-{key}", value)
    page.click("#place-keep")
    until(page, "document.getElementById('place-at') !== null")
    settled(page)


def places_put(page: Page) -> None:
    """A place by a click on the map; the others by their metres; an edge dragged; a width is wider then."""
    page.click("#step-ground")
    page.click("#whole")
    middle = page.evaluate(
        "document.querySelector('#map path.course').getBoundingClientRect().toJSON()"
    )
    page.mouse.click(middle["x"] + 0.3 * middle["width"], middle["y"] + middle["height"])
    page.get_by_text("What is there,").wait_for()
    page.click("#place-leave")
    put(page, "230", "gate", "field gate", width="4")
    put(page, "270", "hill", "mound", climb="3", length="40")
    put(page, "420", "landmark", "old oak")
    put(page, "430", "people", "Ada and Finn")
    put(page, "400", "trail", "willow path", width="3", length="30")
    assert page.locator("#panel td", has_text="Ada and Finn").count() == 1
    last = page.locator(".handle.edge").last
    before = float(last.get_attribute("aria-valuenow") or 0)
    last.focus()
    page.keyboard.press("ArrowUp")
    page.wait_for_timeout(100)
    settled(page)
    assert float(last.get_attribute("aria-valuenow") or 0) == pytest.approx(before + 0.25)


def test_a_coach_from_a_picture_of_a_map(
    browser: Browser, address: str, folder: Path, tmp_path: Path
) -> None:
    """Two clicks and a number give the scale; the way is clicked; the picture goes nowhere."""
    picture = tmp_path / "map.png"
    picture.write_bytes(a_map_picture())
    before = {path.name for path in folder.rglob("*")}
    with page_of(browser, address) as page:
        sent: list[int] = []
        page.on("request", lambda request: sent.append(len(request.post_data_buffer or b"")))
        page.click("#fresh")
        page.fill("#new-name", "Picture park")
        page.set_input_files("#picture", picture)
        page.wait_for_selector("#map image")
        clicked_on_picture(page, 700, 660)
        clicked_on_picture(page, 900, 660)
        page.fill("#scale-m", "100")
        page.click("#keep-scale")
        page.get_by_text("The picture has its scale").wait_for()
        for x, y in ((100, 600), (500, 600), (800, 450), (750, 200), (350, 250)):
            clicked_on_picture(page, x, y)
        until(page, "/\\d+ m along/.test(document.getElementById('drawn-said').textContent)")
        for key, value in (("line", "40"), ("boxes", "14"), ("box_width", "2.5")):
            page.fill(f"#new-{key}", value)
            page.press(f"#new-{key}", "Tab")
        until(page, "!document.getElementById('keep-drawn').disabled")
        page.click("#keep-drawn")
        until(page, "document.title.startsWith('Picture park')")
        assert max(sent) < 2000
        assert {path.name for path in folder.rglob("*")} - before == {"picture_park.toml"}
        places_put(page)
        lists_kept(page)
        page.click("#step-plan")
        page.select_option("#turn-1", "inside")
        settled(page)
        sheet = run_to_the_sheet(page)
        assert "Ellerfold" in (sheet.text_content("body") or "")
    # By hand: 200 + 167.7 + 127.5 + 201.6 m of legs at half a metre a pixel, less what corners save.
    day = read(folder / "picture_park.toml")
    assert day.strip.length_m == pytest.approx(690, abs=14)
    assert {gate.name for gate in day.strip.gates} > {"field gate", "willow path"}
    assert [mark.name for mark in day.strip.landmarks] == ["old oak"]
    assert [(place.name, place.crowd) for place in day.places] == [("Ada and Finn", True)]
    assert day.strip.height_m.max() == pytest.approx(3.0)
    assert day.runners == 84


def test_a_director_from_a_blank_sheet_to_the_crew_sheet(
    browser: Browser, address: str, folder: Path
) -> None:
    """What wobbles is drawn straight, one lap closes by itself; the line is bent, waves and races told;
    figures follow at once, raced ones after; the crew sheet."""
    with page_of(browser, address) as page:
        page.click("#fresh")
        page.fill("#new-name", "Blank park")
        field = page.locator("#map").bounding_box()
        assert field
        wobbly = [(400, 470), (450, 510)]
        corners = [(60, 500), (330, 500), *wobbly, (560, 470), (620, 260), (420, 140), (260, 260)]
        for x, y in corners:
            page.mouse.click(field["x"] + x, field["y"] + y)
        page.click("#straight-clicks")
        for x, y in (corners[1], corners[4]):
            page.mouse.click(field["x"] + x, field["y"] + y)
        until(page, "document.querySelectorAll('#clicks li').length === 6")
        page.click("#one-lap")
        page.get_by_text("back to click 2: a lap").wait_for()
        until(page, "!document.getElementById('keep-drawn').disabled")
        page.click("#keep-drawn")
        until(page, "document.title.startsWith('Blank park')")
        page.click("#step-layout")
        assert "Not a safety assessment" in (page.text_content(".caution") or "")
        page.wait_for_selector("#first dl", state="attached")
        page.wait_for_selector("#raced dl", timeout=240_000)
        page.focus(".handle.bow")
        for _ in range(4):
            bow = page.get_attribute(".handle.bow", "aria-valuenow") or ""
            page.keyboard.press("ArrowUp")
            moved = "(old) => document.querySelector('.handle.bow').getAttribute('aria-valuenow') !== old"
            until(page, moved, arg=bow)
            page.focus(".handle.bow")
        page.fill("#of-straight", "170")
        page.press("#of-straight", "Tab")
        until(page, "document.getElementById('of-straight').value === '170'")
        typed(page, "#of-waves", "2")
        typed(page, "#of-wave_gap", "40")
        page.wait_for_selector("#raced dl", timeout=240_000)
        page.fill("#race-names", "Girls, Boys")
        page.press("#race-names", "Tab")
        page.wait_for_selector("#race-pick:visible")
        page.select_option("#race", "Boys")
        until(page, "document.title.includes('Boys')")
        page.click("#crew")
        crew = page.locator("#crew-sheet")
        crew.wait_for()
        said = opened_by(page, crew).text_content("body") or ""
        assert "14 boxes of 2.5 m" in said
        assert "Not a safety assessment" in said
        assert "safe " not in said.replace("safety", "")
    day = read(folder / "blank_park.toml", "Girls")
    assert (day.start.waves, day.start.wave_gap_s) == (2, 40.0)
    assert (day.start.shape, day.course.pieces[0].length_m, day.course.laps.times) == (
        "arc",
        170.0,
        2,
    )  # type: ignore[union-attr]
