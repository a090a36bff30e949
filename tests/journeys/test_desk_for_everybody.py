"""The desk for everybody: every screen, a screen reader, every shipped day, and no page from elsewhere."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from simrun.base.writing import write_text
from simrun.scenario.reader import read
from tests.helpers.desks import folder_with, open_desk, page_of, settled, until

pytestmark = pytest.mark.slow

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SHIPPED = sorted(path.stem for path in SCENARIOS.glob("*.toml"))

TOO_SMALL = """[...document.querySelectorAll("button, select, input[type=text], input[type=number]")]
    .filter((each) => each.offsetHeight && each.offsetHeight < 33)
    .map((each) => each.id || each.textContent)"""
"""What is pressed or typed in must not be lower than a finger is wide."""

TABBED = """() => {
    const found = [...document.querySelectorAll("a[href], button, select, input, textarea, [tabindex]")]
        .filter((each) => each.tabIndex >= 0 && !each.disabled && each.getClientRects().length);
    for (const each of found) {
        each.focus();
        if (document.activeElement !== each) return { stuck: each.id };
    }
    const handles = found.filter((each) => each.classList.contains("handle")).length;
    return { reached: found.map((each) => each.id).filter(Boolean), handles };
}"""
"""What Tab comes to, in the order of the page; each of them takes the focus."""

ROLLS_SMOOTHLY = """[...document.querySelectorAll("*")]
    .filter((each) => getComputedStyle(each).scrollBehavior === "smooth").length"""

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
    return folder_with(tmp_path_factory.mktemp("days"), *SHIPPED)


@pytest.fixture(scope="module")
def address(folder: Path) -> Iterator[str]:
    with open_desk(folder) as address:
        yield address


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


@pytest.mark.parametrize("name", SHIPPED)
def test_one_drag_of_a_shipped_day_changes_that_line_alone(
    name: str, browser: Browser, address: str, folder: Path
) -> None:
    """The line is turned by a key, which is a drag's last moment; undone, the file is as it was."""
    file, first = folder / f"{name}.toml", (SCENARIOS / f"{name}.toml").read_text("utf-8")
    with page_of(browser, address, f"#{name}.toml/line") as page:
        page.focus(".handle.tilt")
        page.keyboard.press("ArrowUp")
        until(page, "!document.getElementById('undo').disabled")
        told = difflib.ndiff(first.splitlines(), file.read_text("utf-8").splitlines())
        changed = [line for line in told if line[:2] in ("- ", "+ ")]
        assert changed
        assert [line for line in changed if line[2:7] != "tilt "] == []
        page.click("#undo")
        until(page, "document.getElementById('undo').disabled")
        settled(page)
    assert file.read_text("utf-8") == first


def test_a_race_day_is_made_by_keys_alone(browser: Browser, address: str, folder: Path) -> None:
    """Drawn, told and turned without a mouse; every control is come to by Tab."""
    with page_of(browser, address, "#dual_meet.toml/ground") as page:
        press = page.keyboard.press
        page.focus("#fresh")
        press("Enter")
        page.focus("#new-name")
        page.keyboard.type("Key park")
        until(
            page, "document.getElementById('new-line').value === '44'"
        )  # yards, as the day before
        page.focus("#new-units")
        press("ArrowUp")
        until(page, "document.getElementById('new-line').value === '40'")
        page.focus("#map")
        ways = (("ArrowRight", 15), ("ArrowUp", 12), ("ArrowLeft", 14), ("ArrowDown", 3))
        press("Enter")
        for key, times in ways:
            for _ in range(times):
                press(key)
            press("Enter")
        until(page, "document.querySelectorAll('#clicks li').length === 5")
        press("Backspace")
        until(page, "document.querySelectorAll('#clicks li').length === 4")
        until(page, "!document.getElementById('keep-drawn').disabled")
        page.focus("#keep-drawn")
        press("Enter")
        until(page, "document.title.startsWith('Key park')")
        page.focus("#step-ground")
        press("Enter")
        page.focus("#place-at")
        page.keyboard.type("200")
        press("Enter")
        page.locator("#place-kind").wait_for()
        page.keyboard.type("a hill")
        page.focus("#place-length")
        page.keyboard.type("40")
        page.focus("#place-name")
        press("Enter")
        page.wait_for_selector("#map path.hill")
        settled(page)
        page.focus("#step-line")
        press("Enter")
        page.focus(".handle.tilt")
        press("ArrowUp")
        settled(page)
        seen = page.evaluate(TABBED)
        assert {"map", "of-width", "undo", "step-people", "box-1"} <= set(seen["reached"])
        assert seen["handles"] == 4
    day = read(folder / "key_park.toml")
    assert (day.units, day.start.width_m, day.start.tilt_deg) == ("metric", 40.0, 0.5)
    assert day.strip.height_m.max() == 2.0
    (folder / "key_park.toml").unlink()


def test_who_wants_little_motion_sees_none(browser: Browser, address: str) -> None:
    """Nothing of the desk is animated or fades, and nothing rolls smoothly."""
    with page_of(browser, address, "#dual_meet.toml/line", reduced_motion="reduce") as page:
        page.click("#step-layout")
        page.wait_for_timeout(500)
        assert page.evaluate("document.getAnimations().length") == 0
        assert page.evaluate(ROLLS_SMOOTHLY) == 0
