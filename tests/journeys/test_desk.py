"""The desk in a real browser: a coach's day to the printed sheet, a track, a picture, a director's line."""

from __future__ import annotations

import difflib
import io
import json
import os
import re
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import Browser, Page

from simrun.answers.whole.brief.run import run_brief
from simrun.base.writing import write_text
from simrun.cli import main
from simrun.measure.wheel import measure_ground
from simrun.scenario.reader import read
from tests.helpers.desks import folder_with, open_desk, page_of, until
from tests.helpers.processes import hear_ctrl_c
from tests.helpers.watch_tracks import walk_of

pytestmark = pytest.mark.slow

SCENARIOS = Path(__file__).parents[2] / "scenarios"
HOSTILE = "<img src=x onerror=\"document.title='run'\">"

TOO_SMALL = """[...document.querySelectorAll("button, select, input[type=text], input[type=number]")]
    .filter((each) => each.offsetHeight && each.offsetHeight < 33)
    .map((each) => each.id || each.textContent)"""
"""What is pressed or typed in must not be lower than a finger is wide."""

FRAMED = """(address) => new Promise((done) => {
    const frame = document.createElement("iframe");
    frame.onload = () => {
        try { done(frame.contentDocument ? "read" : "closed"); } catch { done("closed"); }
    };
    frame.src = address;
    document.body.append(frame);
})"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return folder_with(tmp_path_factory.mktemp("days"), "dual_meet", "brindle_fen")


@pytest.fixture(scope="module")
def address(folder: Path) -> Iterator[str]:
    with open_desk(folder) as address:
        yield address


def pasted(page: Page, field: str, text: str) -> None:
    """The text as it comes from a spreadsheet, into a field, by the clipboard's own event."""
    page.fill(field, text.replace(",", "\t"))


def dragged(page: Page, what: str, by: tuple[int, int]) -> None:
    """A handle taken with the mouse and let go somewhere else."""
    box = page.locator(what).first.bounding_box()
    assert box
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, 9):
        page.mouse.move(x + by[0] * step / 8, y + by[1] * step / 8)
    page.mouse.up()


def test_a_coach_from_a_shipped_day_to_the_printed_sheet(
    browser: Browser, address: str, folder: Path
) -> None:
    """Drag the line, tell the plan, run, read the sentence, print; the command line says the same."""
    file = folder / "dual_meet.toml"
    with page_of(browser, address, "#dual_meet.toml/line") as page:
        assert "Ours is box 2" in (page.text_content("#line-said") or "")
        dragged(page, ".handle.width", (0, 14))
        until(page, "!document.getElementById('undo').disabled")
        told = difflib.ndiff(
            (SCENARIOS / file.name).read_text("utf-8").splitlines(),
            file.read_text("utf-8").splitlines(),
        )
        assert [line[:10] for line in told if line[:2] in ("- ", "+ ")] == [
            "- width = ",
            "+ width = ",
        ]
        extra = [box.to_first_gate_m for box in measure_ground(read(file)).boxes]
        shown = page.locator("#boxes .extra").all_text_contents()
        assert [float(re.sub(r"[^\d.]", "", text)) for text in shown] == [
            round(m / 0.3048, 1) for m in extra
        ]
        page.click("#step-plan")
        page.select_option("#turn-1", "inside")
        until(page, "document.getElementById('turn-1').value === 'inside'")
        page.click("#step-answer")
        page.fill("#minutes", "0.05")
        page.click("#run")
        page.wait_for_selector("progress")
        sentence = page.wait_for_selector("#sentence", timeout=240_000).text_content()
        page.click("#see-replay")
        replay = page.frame_locator(".shown-replay iframe")
        replay.get_by_role("button", name="play", exact=True).wait_for()
        page.click("#close-replay")
        page.click("#run-sheet")
        sheet = page.get_by_role("link", name="The sheet, to print or for the phone")
        sheet.wait_for(timeout=240_000)
        with page.context.expect_page() as opened:
            sheet.click()
        opened.value.wait_for_load_state()
        assert "Millbrook" in (opened.value.text_content("body") or "")
    assert (folder / "outputs" / "dual_meet" / "sheet_a4.pdf").read_bytes()[:5] == b"%PDF-"
    assert read(file).teams[0].lines == {"mill corner": "inside"}
    # The races are found again by all that the scenario says: none is missing, and the answer is the same.
    again = run_brief(read(file), folder / "outputs" / "dual_meet", minutes=0.05, workers=1)
    assert again.sentence == sentence


def test_races_are_stopped_and_taken_up_again(browser: Browser, address: str) -> None:
    """Stop ends it within a race or two, and what was run is kept."""
    with page_of(browser, address, "#brindle_fen.toml/answer") as page:
        page.fill("#minutes", "1")
        page.click("#run")
        until(page, "document.querySelector('progress')?.value > 0", timeout=120_000)
        page.click("#stop")
        page.get_by_text("Stopped. The races that were run are kept").wait_for(timeout=60_000)
        assert page.is_enabled("#run")


def test_a_coach_from_a_noisy_watch_track_and_two_pasted_lists(
    browser: Browser, address: str, folder: Path, tmp_path: Path
) -> None:
    """A track of a watch becomes a course; the lists say who runs; our box and front row are told."""
    track = tmp_path / "meadow loop.gpx"
    track.write_text(walk_of(3).gpx, encoding="utf-8")
    with page_of(browser, address) as page:
        page.click("#fresh")
        page.fill("#new-name", "Meadow loop")
        page.set_input_files("#track", track)
        until(page, "document.title.startsWith('Meadow loop')", timeout=120_000)
        page.get_by_text("A watch cannot measure widths").wait_for()
        page.click("#step-line")
        for key, value in (
            ("width", "45"),
            ("boxes", "14"),
            ("box_width", "2.5"),
            ("front_row", "3"),
        ):
            page.fill(f"#of-{key}", value)
            page.press(f"#of-{key}", "Tab")
            page.wait_for_timeout(400)
        page.click("#step-people")
        pasted(page, "#entries", (SCENARIOS / "brindle_fen_entries.csv").read_text("utf-8"))
        pasted(page, "#box-sheet", (SCENARIOS / "brindle_fen_boxes.csv").read_text("utf-8"))
        page.get_by_text("Understood: 84 runners in 12 teams, 12 boxes").wait_for()
        page.select_option("#list-ours", "Ellerfold")
        page.click("#keep-lists")
        page.get_by_text("84 runners in 12 teams stand on the line").wait_for()
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
    day = read(folder / "meadow_loop.toml")
    ours = next(team for team in day.teams if team.ours)
    assert (ours.name, ours.front[0], day.start.boxes, day.runners) == (
        "Ellerfold",
        "Oro Norer",
        14,
        84,
    )
    assert [person.opening for person in ours.people if person.opening is not None] == [0.12]
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
        page.fill("#new-boxes", "8")
        page.press("#new-boxes", "Tab")
        until(page, "!document.getElementById('keep-drawn').disabled")
        page.click("#keep-drawn")
        until(page, "document.title.startsWith('Picture park')")
        assert max(sent) < 2000
    new = {path.name for path in folder.rglob("*")} - before
    assert new == {"picture_park.toml"}
    # By hand: 200 + 167.7 + 127.5 + 201.6 m of legs at half a metre a pixel, less what corners save.
    assert read(folder / "picture_park.toml").strip.length_m == pytest.approx(690, abs=14)


def test_a_director_from_a_blank_sheet_to_the_crew_sheet(
    browser: Browser, address: str, folder: Path
) -> None:
    """A lap closes by itself; the line is bent; figures follow at once, raced ones after; the crew sheet."""
    with page_of(browser, address) as page:
        page.click("#fresh")
        page.fill("#new-name", "Blank park")
        field = page.locator("#map").bounding_box()
        assert field
        corners = [(60, 500), (330, 500), (560, 470), (620, 260), (420, 140), (260, 260)]
        for x, y in [*corners, corners[1]]:
            page.mouse.click(field["x"] + x, field["y"] + y)
        page.get_by_text("back to click 2: a lap").wait_for()
        until(page, "!document.getElementById('keep-drawn').disabled")
        page.click("#keep-drawn")
        until(page, "document.title.startsWith('Blank park')")
        page.click("#step-layout")
        assert "Not a safety assessment" in (page.text_content(".caution") or "")
        page.wait_for_selector("#raced dl", timeout=120_000)
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
        page.wait_for_selector("#raced dl", timeout=120_000)
        page.click("#crew")
        with page.context.expect_page() as opened:
            page.click("#crew-sheet")
        opened.value.wait_for_load_state()
        said = opened.value.text_content("body") or ""
        assert "14 boxes of 2.5 m" in said
        assert "Not a safety assessment" in said
        assert "safe " not in said.replace("safety", "")
    day = read(folder / "blank_park.toml")
    assert (day.start.shape, day.course.pieces[0].length_m, day.course.laps.times) == (
        "arc",
        170.0,
        2,
    )  # type: ignore[union-attr]


def test_undo_by_keys_reload_and_a_change_from_outside(
    browser: Browser, address: str, folder: Path
) -> None:
    """What the page shows is what the file says, whoever wrote it."""
    file = folder / "brindle_fen.toml"
    first = file.read_text("utf-8")
    with page_of(browser, address, "#brindle_fen.toml/line") as page:
        page.focus(".handle.tilt")
        page.keyboard.press("ArrowUp")
        until(page, "!document.getElementById('undo').disabled")
        assert read(file).start.tilt_deg == 0.5
        page.reload()
        page.wait_for_selector("body[data-ready]")
        assert page.input_value("#of-tilt") == "0.5"
        page.focus("#map")
        page.keyboard.press("Control+z")
        until(page, "document.getElementById('of-tilt').value === '0'")
        assert file.read_text("utf-8") == first
        file.write_text(first.replace('width = "36 m"', 'width = "35.5 m"'), encoding="utf-8")
        page.fill("#of-tilt", "3")
        page.press("#of-tilt", "Tab")
        page.get_by_text("This file was changed elsewhere").wait_for()
        until(page, "document.getElementById('of-width').value === '35.5'")
        assert read(file).start.tilt_deg == 0
    file.write_text(first, encoding="utf-8")


def test_two_steps_at_once_are_taken_one_after_the_other(
    browser: Browser, address: str, folder: Path
) -> None:
    """The second begins from what the first has left: nothing is refused, both stand in the file."""
    file = folder / "brindle_fen.toml"
    first = file.read_text("utf-8")
    with page_of(browser, address, "#brindle_fen.toml/line") as page:
        both = """for (const [id, value] of [["of-tilt", "2"], ["of-bow", "1.5"]]) {
            const field = document.getElementById(id);
            field.value = value;
            field.dispatchEvent(new Event("change"));
        }"""
        page.evaluate(both)
        for name, value in (("bow", "1.5"), ("tilt", "2")):
            until(page, f"document.getElementById('of-{name}').value === '{value}'")
        until(page, "!document.getElementById('undo').disabled")
        page.wait_for_timeout(600)
        assert page.is_hidden("#told")
    day = read(file)
    assert (day.start.tilt_deg, day.start.shape) == (2.0, "arc")
    file.write_text(first, encoding="utf-8")


def test_hostile_names_are_words(browser: Browser, address: str, folder: Path) -> None:
    """In the race's name, a landmark, a team, a runner and a file that cannot be read."""
    text = (SCENARIOS / "dual_meet.toml").read_text("utf-8")
    text = text.replace('"Mill Lane dual meet"', json.dumps(HOSTILE)).replace(
        '"well"', json.dumps(HOSTILE)
    )
    text = text.replace('"Millbrook"', json.dumps(HOSTILE))
    (folder / "hostile.toml").write_text(text, encoding="utf-8")
    (folder / "broken.toml").write_text(
        f"name = {json.dumps(HOSTILE)}\n[[{HOSTILE}]]\n", encoding="utf-8"
    )
    with page_of(browser, address, "#hostile.toml/ground") as page:
        for step in ("ground", "line", "people", "plan", "answer", "layout"):
            page.click(f"#step-{step}")
            page.wait_for_timeout(150)
            assert page.title() != "run"
            assert page.locator("img").count() == 0
        assert page.text_content("#title") == HOSTILE
        page.click("#step-people")
        pasted(page, "#entries", f"Name,Team,Time\n{HOSTILE},{HOSTILE},20:00\n".replace(",", "\t"))
        page.wait_for_selector("#understood table")
        page.select_option("#days", "broken.toml")
        page.wait_for_selector(".wrong li")
        assert page.title() != "run"
    for name in ("hostile", "broken"):
        (folder / f"{name}.toml").unlink()


@pytest.mark.parametrize(("wide", "high"), [(390, 844), (1366, 768), (1920, 1080)])
def test_it_fits_every_screen(browser: Browser, address: str, wide: int, high: int) -> None:
    """Nothing is cut off sideways; what is pressed is large enough; by touch as well."""
    size = {
        "viewport": {"width": wide, "height": high},
        "has_touch": wide < 500,
        "reduced_motion": "reduce",
    }
    with page_of(browser, address, "#brindle_fen.toml/ground", **size) as page:
        for step in ("ground", "line", "people", "plan", "answer", "layout"):
            page.locator(f"#step-{step}").tap() if wide < 500 else page.click(f"#step-{step}")
            page.wait_for_timeout(200)
            assert page.evaluate("document.documentElement.scrollWidth") <= wide
            assert page.evaluate(TOO_SMALL) == []


def test_nothing_serious_stands_in_the_way_of_a_screen_reader(
    browser: Browser, address: str
) -> None:
    """Checked at every step by a library made for it (`shared/axe/`)."""
    checker = (SCENARIOS.parent / "shared" / "axe" / "axe.min.js").read_text("utf-8")
    found = []
    with page_of(browser, address, "#brindle_fen.toml/ground") as page:
        for step in (
            "step-ground",
            "step-line",
            "step-people",
            "step-plan",
            "step-answer",
            "step-layout",
            "fresh",
        ):
            page.click(f"#{step}")
            page.wait_for_timeout(700)
            page.evaluate(checker)
            told = page.evaluate("axe.run(document, { resultTypes: ['violations'] })")
            found += [
                (step, each["id"])
                for each in told["violations"]
                if each["impact"] in ("serious", "critical")
            ]
    assert found == []


def test_a_page_of_another_origin_learns_nothing(
    browser: Browser, address: str, tmp_path: Path
) -> None:
    """It has the address, token and all, and still neither reads nor changes anything."""
    page = browser.new_page()
    page.goto(write_text(tmp_path / "other.html", "<p>other").as_uri())
    ask = """async ([address, options]) => {
        try { const reply = await fetch(address, options); return reply.type + reply.status; }
        catch { return "refused"; }
    }"""
    assert page.evaluate(ask, [f"{address}days", {}]) == "refused"
    post = {"method": "POST", "body": "{}", "headers": {"Content-Type": "application/json"}}
    assert page.evaluate(ask, [f"{address}stop", post]) == "refused"
    assert page.evaluate(ask, [f"{address}days", {"mode": "no-cors"}]) in ("refused", "opaque0")
    assert page.evaluate(FRAMED, address) == "closed"
    page.close()


def test_ctrl_c_closes_the_desk(folder: Path) -> None:
    """At once, with one line, and nothing left running."""
    words = [sys.executable, "-m", "simrun", "desk", str(folder), "--no-browser"]
    env = {**os.environ, "PYTHONPATH": str(SCENARIOS.parent), "PYTHONUNBUFFERED": "1"}
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    with subprocess.Popen(words, env=env, preexec_fn=hear_ctrl_c, **pipes) as desk:  # type: ignore[call-overload]
        said = desk.stdout.readline()
        address = re.search(r"http://\S+", said)[0]  # type: ignore[index]
        for _ in range(200):
            try:
                assert urllib.request.urlopen(address, timeout=5).status == 200
                break
            except OSError:
                time.sleep(0.05)
        desk.send_signal(signal.SIGINT)
        _, last = desk.communicate(timeout=30)
    assert (desk.returncode, last) == (130, "\nsimrun: stopped; no file is half-written\n")


def test_plan_b_beside_plan_a(browser: Browser, address: str, folder: Path) -> None:
    """A copy with another line, compared: one sentence, both on one replay."""
    with page_of(browser, address, "#dual_meet.toml/answer") as page:
        page.fill("#copy-name", "dual_b.toml")
        page.click("#copy")
        until(page, "document.getElementById('days').value === 'dual_b.toml'")
        page.select_option("#turn-1", "middle")
        until(page, "document.getElementById('turn-1').value === 'middle'")
        page.select_option("#days", "dual_meet.toml")
        until(page, "location.hash.startsWith('#dual_meet.toml')")
        page.click("#step-answer")
        page.select_option("#other-plan", "dual_b.toml")
        page.fill("#minutes", "0.05")
        page.click("#run-plans")
        sentence = page.wait_for_selector("#sentence", timeout=240_000)
        assert sentence.text_content()
        page.click("#see-replay")
        page.frame_locator(".shown-replay iframe").get_by_role(
            "button", name="play", exact=True
        ).wait_for()
    (folder / "dual_b.toml").unlink()
