"""The course card in pictures: its map and hill for the page, and the whole sheet for the printer."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simrun.answers.card.card_races import Timed
from simrun.answers.card.words import Told, card_rows, title_of
from simrun.measure.stretches import Stretch
from simrun.pictures.charts.card_sheet import overview, printed_card
from simrun.pictures.charts.chart import png_of
from simrun.pictures.charts.course_map import Coloured
from simrun.pictures.charts.sheet_paper import Paper
from simrun.scenario.scenario import Scenario

DOTS_A_INCH = 200
"""As sharp as a printer shows it."""

Bands = tuple[Coloured, ...]


def bands_of(timed: Timed, found: Sequence[Stretch], stations: Sequence[float]) -> Bands:
    """The colours of the map, from station to station; a stretch's own share where a part says too little."""
    bands, low = [], 0.0
    for high in stations:
        stretch = next(s for s in found if high <= s.to_m + 1e-6)
        share = timed.passing(low, high).open_share if low else np.nan
        if np.isnan(share) and stretch.from_m:
            share = timed.passing(stretch.from_m, stretch.to_m).open_share
        bands.append(Coloured(low, high, share, stretch.lap))
        low = high
    return tuple(bands)


def map_picture(scenario: Scenario, bands: Bands, units: str) -> bytes:
    """Map and hill as a PNG."""
    return png_of(overview(scenario, bands, units), DOTS_A_INCH)


def sheet_of(
    scenario: Scenario, bands: Bands, rows: Sequence[Told], how: tuple[str, str, str, str]
) -> Paper:
    """The printed card. how: units, paper, the answer, the words at its foot."""
    units, paper, answer, foot = how
    said = title_of(scenario, units), answer, foot
    return printed_card(scenario, bands, card_rows(rows, units), (units, paper), said)
