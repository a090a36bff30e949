"""The course card is printed on one sheet, the page beside it on two, also where there is most to say."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import sync_playwright

from simrun.answers.card.charts import Bands, map_picture, sheet_of
from simrun.answers.card.page import page_of
from simrun.answers.card.result import MOST_STRETCHES
from simrun.answers.card.words import Told, foot_of, sentence_of, told
from simrun.measure.passing import Passing
from simrun.measure.stretches import at_most, stretches
from simrun.pages.frame import write_page
from simrun.pages.page import Figure
from simrun.pictures.charts.course_map import Coloured
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from tests.helpers.labels import outside, overlapping, texts_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]


LEAST_PT = 9.0
SMALLEST = """() => Math.min(...[...document.querySelectorAll("body, body *")]
    .filter((one) => [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim()))
    .map((one) => parseFloat(getComputedStyle(one).fontSize) * 72 / 96))"""


def sheets(file: Path, paper: str) -> tuple[int, float]:
    """On how many sheets does a browser print the page, and how small are its smallest letters, in points?"""
    with sync_playwright() as engine:
        browser = engine.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        page = browser.new_page()
        page.goto(file.as_uri())
        printed = page.pdf(format=paper, print_background=True)
        page.emulate_media(media="print")
        least = float(page.evaluate(SMALLEST))
        browser.close()
    return len(re.findall(rb"/Type\s*/Page[^s]", printed)), least


PATHS = sorted(SCENARIOS.glob("*.toml"))


def busy_card(path: Path) -> tuple[Scenario, tuple[Told, ...], Bands]:
    """Figures made up so that every note is long: traffic everywhere, half of the faster get by."""
    day = read(path)
    found = stretches(day.strip)
    shown = at_most(found, MOST_STRETCHES, lambda one, other: other.to_m - one.from_m)
    two = np.ones(2)
    busy = [
        Passing(s.length_m, 200 * two, 400 * two, 200 * two, 200 * two, 1.4 * two, 60 * two)
        for s in shown
    ]
    bands = tuple(Coloured(s.from_m, s.to_m, 0.5, s.lap) for s in found)
    return day, told(shown, busy, "us"), bands


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.slow
def test_the_page_of_every_card_prints_on_two_sheets(paper: str, tmp_path: Path) -> None:
    """Printed by a browser, in letters that can be read at the course; the PDF beside it is the one sheet."""
    for path in PATHS:
        day, rows, bands = busy_card(path)
        course = Figure(map_picture(day, bands, "us"), "Map and hill")
        written = write_page(page_of(day, rows, ("us", 2), course), tmp_path / f"{path.stem}.html")
        count, least_pt = sheets(written, paper)
        assert count <= 2, path.stem
        assert least_pt >= LEAST_PT - 0.01, path.stem


@pytest.mark.parametrize(
    "path",
    [
        path if path.stem == "sallow_heath" else pytest.param(path, marks=pytest.mark.slow)
        for path in PATHS
    ],
    ids=lambda path: path.stem,
)
@pytest.mark.slow
def test_no_label_of_the_card_lies_over_another_and_nothing_is_clipped(path: Path) -> None:
    """Measured on the drawn letters: map, hill, table and foot; nothing smaller than 8 pt."""
    day, rows, bands = busy_card(path)
    said = ("us", "letter", sentence_of(rows), foot_of(day, 2))
    sheet = sheet_of(day, bands, rows, said)
    texts = texts_of(sheet.figure)
    assert overlapping(texts) == []
    assert outside(sheet.figure, texts, 0.3) == []
    assert min(size for *_, size in texts) >= 8.0
    names = {text for text, *_ in texts}
    assert {"start", "finish"} <= names
    assert (f"our box, {our_box(day)}" in names) == bool(our_box(day))
    assert len(rows) <= MOST_STRETCHES


def our_box(day: Scenario) -> int | None:
    return next((team.box for team in day.teams if team.ours), None)
