"""The estimate's page in a real browser: the numbers of Python, moving with the sliders, no network."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page

import simrun
from simrun.cli import main

WORDS = [
    "estimate",
    "--width",
    "90",
    "--boxes",
    "30",
    "--runners",
    "7",
    "--straight",
    "120",
    "--throat",
    "5",
]
WORDS += ["--box", "2", "--turn", "right", "--offset", "20", "--page"]
FIGURES = {"width_m": 90, "boxes": 30, "runners": 7, "straight_m": 120, "throat_m": 5}
LARGEST_PAGE = 1_000_000
SHIPPED = Path(__file__).parents[2] / "shared" / "handbook" / "estimate.html"
SHIPPED_WORDS = [
    *("estimate", "--width", "75", "--boxes", "30", "--runners", "7", "--straight", "150"),
    *("--throat", "6", "--box", "3", "--turn", "right", "--offset", "15", "--page", "--quiet"),
]


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    where = tmp_path_factory.mktemp("estimate")
    assert main([*WORDS, "--quiet", "--out", str(where)]) == 0
    return where / "estimate.html"


@pytest.fixture
def page(browser: Browser, file: Path) -> Iterator[Page]:
    """The page; fails afterwards where anything went wrong in it or it asked for anything."""
    page = browser.new_page(viewport={"width": 390, "height": 800})
    wrong: list[str] = []
    asked: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda told: wrong.append(told.text) if told.type == "error" else None)
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    yield page
    assert wrong == []
    assert asked == [file.as_uri()]
    page.close()


def set_to(page: Page, name: str, value: float) -> None:
    """Move a slider."""
    script = "(e, v) => { e.value = v; e.dispatchEvent(new Event('input')); }"
    page.locator(f"#f-{name}").evaluate(script, value)


def test_the_page_says_what_python_says(page: Page) -> None:
    """Sentence for sentence, and every number to the ninth digit; before and after a slider moves."""
    found = simrun.estimate(box=2, right=True, offset_m=20, **FIGURES)
    assert page.locator("#sentence").inner_text() == found.sentence
    told = dict.fromkeys(found.told.unknown) | found.figures["told"]
    costs = page.evaluate("told => window.estimateCosts(told)", told)
    for name in ("cost_s", "cost_places"):
        assert np.array(costs["values"][name]) == pytest.approx(found.costs.values[name], abs=1e-9)
        assert np.array(costs["half"][name]) == pytest.approx(found.costs.half[name], abs=1e-9)
    set_to(page, "straight_m", 300)
    set_to(page, "box", 28)
    moved = simrun.estimate(box=28, right=True, offset_m=20, **(FIGURES | {"straight_m": 300}))
    assert page.locator("#sentence").inner_text() == moved.sentence
    assert moved.sentence != found.sentence


def test_what_is_not_known_is_shown_and_outside_is_said(page: Page) -> None:
    """A line that was never tried turns the headline; what is told leaves the list of unknown figures."""
    unknown = page.locator("#unknown")
    assert "how sharp it is" in unknown.inner_text()
    page.locator("summary").click()
    set_to(page, "turn_deg", 90)
    assert "how sharp it is" not in unknown.inner_text()
    assert page.locator("#outside").inner_text() == ""
    set_to(page, "runners", 9)
    assert page.locator("#sentence").inner_text().startswith("Outside what was sampled")
    assert "runners in all 270 (0 to 260 was sampled)" in page.locator("#outside").inner_text()
    assert "Not a safety assessment" in page.locator(".caution").inner_text()


def test_the_drawing_has_a_dot_a_box_and_ours_marked(page: Page) -> None:
    """30 boxes: 29 dots and a square; nothing wider than a phone."""
    assert page.locator("#drawing circle").count() == 29
    assert page.locator("#drawing rect.ours").count() == 1
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_shipped_page_is_the_present_one(file: Path, tmp_path: Path) -> None:
    """The page that needs no install is what the command writes; small, and alone with itself."""
    assert file.stat().st_size < LARGEST_PAGE
    assert main([*SHIPPED_WORDS, "--out", str(tmp_path)]) == 0
    note = "The races behind it were run with an earlier state of the program"
    shown = (tmp_path / "lessons.html").read_text("utf-8")
    assert "are still lost at 1 km" in shown
    assert shown.count("Proved wrong if") == 4
    now, kept = (
        [line for line in path.read_text("utf-8").splitlines() if note not in line]
        for path in (tmp_path / "estimate.html", SHIPPED)
    )
    assert kept == now
