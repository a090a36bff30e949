"""The course card is printed on one sheet, also where there is most to say."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import sync_playwright

from simrun.answers.card.charts import map_picture
from simrun.answers.card.page import page_of
from simrun.answers.card.words import told
from simrun.measure.passing import Passing
from simrun.measure.stretches import stretches
from simrun.pages.frame import write_page
from simrun.pages.page import Figure
from simrun.pictures.charts.course_map import Coloured
from simrun.scenario.reader import read

SCENARIOS = Path(__file__).parents[2] / "scenarios"
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]


def sheets(file: Path, paper: str) -> int:
    """On how many sheets does a browser print the page?"""
    with sync_playwright() as engine:
        browser = engine.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        page = browser.new_page()
        page.goto(file.as_uri())
        printed = page.pdf(format=paper, print_background=True)
        browser.close()
    return len(re.findall(rb"/Type\s*/Page[^s]", printed))


@pytest.mark.parametrize("paper", ["A4", pytest.param("Letter", marks=pytest.mark.slow)])
def test_the_card_of_every_shipped_course_prints_on_one_sheet(paper: str, tmp_path: Path) -> None:
    """Figures made up so that every note is long: traffic everywhere, half of the faster get by."""
    for path in sorted(SCENARIOS.glob("*.toml")):
        day = read(path)
        found = stretches(day.strip)
        two = np.ones(2)
        busy = [
            Passing(s.length_m, 200 * two, 400 * two, 200 * two, 200 * two, 1.4 * two, 60 * two)
            for s in found
        ]
        rows = told(found, busy, "us")
        bands = tuple(Coloured(s.from_m, s.to_m, 0.5, s.lap) for s in found)
        course = Figure(map_picture(day, bands, "us"), "Map and hill")
        written = write_page(page_of(day, rows, ("us", 2), course), tmp_path / f"{path.stem}.html")
        assert sheets(written, paper) == 1, path.stem
