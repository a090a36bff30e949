"""The desk in a real browser: a shipped day to its sheet, plan B, undo, stopping, hostile names, the end."""

from __future__ import annotations

import difflib
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
from playwright.sync_api import Browser

from simrun.answers.whole.brief.run import run_brief
from simrun.measure.wheel import measure_ground
from simrun.scenario.reader import read
from tests.helpers.desks import (
    dragged,
    folder_with,
    open_desk,
    page_of,
    pasted,
    settled,
    until,
)
from tests.helpers.map_pdfs import pdf_of
from tests.helpers.processes import hear_ctrl_c
from tests.helpers.scenario_text import bent_fen

pytestmark = pytest.mark.slow

SCENARIOS = Path(__file__).parents[2] / "scenarios"
HOSTILE = "<img src=x onerror=\"document.title='run'\">"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return folder_with(tmp_path_factory.mktemp("days"), "dual_meet", "brindle_fen", "ferry_meadow")


@pytest.fixture(scope="module")
def address(folder: Path) -> Iterator[str]:
    with open_desk(folder) as address:
        yield address


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
        page.select_option("#stage-kick", index=1)
        settled(page)
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
        page.click("#run-card")
        page.get_by_role("link", name="The course card, to print").wait_for(timeout=240_000)
    assert (folder / "outputs" / "dual_meet" / "sheet_a4.pdf").read_bytes()[:5] == b"%PDF-"
    assert (folder / "outputs" / "dual_meet" / "card.pdf").read_bytes()[:5] == b"%PDF-"
    told = read(file).teams[0]
    assert told.lines == {"mill corner": "inside"}
    assert told.plan is not None
    assert told.plan.kick_m is not None
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


def test_a_page_of_a_pdf_is_the_map(browser: Browser, address: str, tmp_path: Path) -> None:
    """Either page of two, as long as it is wide; a file that is no PDF is one line, and the sheet goes on."""
    file, wrong = tmp_path / "map.pdf", tmp_path / "wrong.pdf"
    file.write_bytes(pdf_of((600, 400), (300, 900)))
    wrong.write_bytes(b"%PDF-1.7\n" + HOSTILE.encode() * 50)
    shape = """(wanted) => {
        const box = document.querySelector("#map image")?.getBoundingClientRect();
        return box && Math.abs(box.width / box.height - wanted) < 0.03;
    }"""
    with page_of(browser, address) as page:
        page.click("#fresh")
        page.set_input_files("#picture", file)
        until(page, shape, 600 / 400, timeout=60_000)
        page.fill("#pdf-page", "2")
        page.press("#pdf-page", "Tab")
        until(page, shape, 300 / 900, timeout=60_000)
        page.set_input_files("#picture", wrong)
        page.get_by_text("a PDF that cannot be read").wait_for()
        assert page.title() != "run"
        page.mouse.click(300, 500)
        assert page.is_enabled("#take-back")


def test_a_wobbly_stretch_of_the_ground_is_clicked_straight(
    browser: Browser, address: str, folder: Path
) -> None:
    """Across the gap of the farm race: by its metres; undone, the file is as it was."""
    file = folder / "ferry_meadow.toml"
    first = file.read_text("utf-8")
    with page_of(browser, address, "#ferry_meadow.toml/ground") as page:
        page.click("#straighten summary")
        page.fill("#straight-from", "450")
        page.fill("#straight-to", "560")
        page.click("#straight-keep")
        until(page, "!document.getElementById('undo').disabled")
        settled(page)
        assert "gateway" not in {piece.name for piece in read(file).course.pieces}
        page.click("#undo")
        until(page, "document.getElementById('undo').disabled")
        settled(page)
    assert file.read_text("utf-8") == first


def test_orders_for_a_corner_that_goes_are_asked_about(
    browser: Browser, address: str, folder: Path
) -> None:
    """Which they are stands there; left, nothing is changed; dropped, it is one step that can be undone."""
    file = folder / "bent_fen.toml"
    bends = [("alder bend", "left", 20.0), ("", "right", 40.0), ("", "left", 20.0)]
    first = bent_fen(bends, '"alder bend" = "inside", "hedge gap" = "left"')
    file.write_text(first, encoding="utf-8")
    with page_of(browser, address, "#bent_fen.toml/ground") as page:
        page.click("#straighten summary")
        for answer in ("leave", "drop"):
            page.fill("#straight-from", "300")
            page.fill("#straight-to", "390")
            page.click("#straight-keep")
            page.get_by_text("Ellerfold: inside at alder bend").wait_for()
            assert file.read_text("utf-8") == first
            page.click(f"#straight-{answer}")
            page.get_by_text("Ellerfold: inside at alder bend").wait_for(state="detached")
        until(page, "!document.getElementById('undo').disabled")
        settled(page)
        assert dict(read(file).teams[0].lines) == {"hedge gap": "left"}
        page.click("#undo")
        until(page, "document.getElementById('undo').disabled")
        settled(page)
    assert file.read_text("utf-8") == first
    file.unlink()


def test_a_name_is_dragged_to_the_front(browser: Browser, address: str, folder: Path) -> None:
    """Taken with the mouse from the second row and let go on the first place."""
    file = folder / "brindle_fen.toml"
    first = file.read_text("utf-8")
    with page_of(browser, address, "#brindle_fen.toml/plan") as page:
        name = (page.text_content("#stands-4 span:nth-child(2)") or "").strip()
        page.drag_and_drop("#standing li:nth-child(5)", "#standing li:nth-child(1)")
        until(page, "!document.getElementById('undo').disabled")
        settled(page)
        ours = next(team for team in read(file).teams if team.ours)
        assert ours.front[0] == name
    file.write_text(first, encoding="utf-8")
