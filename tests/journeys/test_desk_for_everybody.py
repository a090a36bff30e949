"""The desk for everybody: every screen, a screen reader, every shipped day, and no page from elsewhere."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from simrun.base.writing import write_text
from tests.helpers.desks import folder_with, open_desk, page_of, settled, until

pytestmark = pytest.mark.slow

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SHIPPED = sorted(path.stem for path in SCENARIOS.glob("*.toml"))

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
