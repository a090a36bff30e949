"""What somebody down does to the others, as a director reads it: sentences, a picture, a table."""

from __future__ import annotations

import base64
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from simrun.answers.boxes.page import STYLE
from simrun.answers.disturb.run import HELD_UP_S, RECALL_WINDOW_M, Held, Told, figures_of
from simrun.base.csv import write_csv
from simrun.base.units import length_text
from simrun.base.writing import write_text, written_beside
from simrun.pages.text import CAUTION, tenths
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import Estimate

if TYPE_CHECKING:
    import pandas

NO_FORECAST = (
    "A disturbance, not a forecast: nothing here says whether anybody falls, or how likely it is. Somebody "
    "is down at this point because you asked; the others run around as around a body on the ground; who is "
    "brought to a stand right behind steps around it, and waits where there is no room."
)


def write_disturbance(held: Held, scenario: Scenario, folder: Path, units: str) -> list[Path]:
    """Write disturbance.html, disturbance.png and disturbance.csv (a row a runner and seed)."""
    from simrun.answers.disturb.charts import ripple
    from simrun.pictures.charts.box_charts import png_of

    down = held.down
    after = held.passed_s - held.from_s[:, None]
    point = scenario.strip.point_at(down.at_m, down.share)
    figure = ripple(
        scenario.strip,
        point,
        down.at_m,
        after.ravel(),
        held.delay_s.ravel(),
        down.for_s,
        RECALL_WINDOW_M,
    )
    picture = png_of(figure)
    with written_beside(folder / "disturbance.png") as beside:
        beside.write_bytes(picture)
    said = disturbance_words(held, units)
    page = write_text(folder / "disturbance.html", _html(scenario, said, picture))
    return [page, folder / "disturbance.png", write_csv(_table(held), folder / "disturbance.csv")]


def disturbance_words(held: Held, units: str) -> list[str]:
    """What happens to the others, sentence by sentence."""
    down, told = held.down, figures_of(held)
    races = len(held.from_s)
    where = f"{length_text(down.at_m, units)} after the start, {_side(down.share)}"
    half = "" if down.from_s == down.from_s else ", when half of the field is past,"
    since = f"from {tenths(float(held.from_s.mean()))} s on{half}"
    said = [
        f"Somebody is down {where}, {since} for {down.for_s:g} s. {races} races, each with and without."
    ]
    if told.held_up.mean == 0:
        said.append(f"Nobody is held up by more than {HELD_UP_S:g} s.")
    else:
        said.append(_held_words(held, told))
    said.append(_recall_words(down.at_m, told.in_recall_window, units))
    return said


def _held_words(held: Held, told: Told) -> str:
    low, high = (round(end) for end in told.held_up_range)
    first, last = told.longest_range
    return (
        f"{low} to {high} of {held.delay_s.shape[1]} runners are later by more than {HELD_UP_S:g} s in eight "
        f"races of ten (mean {_mean(told.held_up)}), the one held up longest by {tenths(first)} to "
        f"{tenths(last)} s. The last of them is past {_mean(told.recovered)} s after the way is clear."
    )


def _recall_words(at_m: float, inside: bool, units: str) -> str:
    window = length_text(RECALL_WINDOW_M, units)
    stands = "inside" if inside else "beyond"
    return (
        f"The point lies {stands} the first {window}, within which a start may be called back after a fall "
        "by contact under one federation's practice (starter's instructions, seen); meets write their own "
        "windows. It is for the starter and the referee to decide."
    )


def _mean(found: Estimate) -> str:
    known = np.isfinite([found.low, found.high]).all()
    ends = f" (interval {tenths(max(0.0, found.low))} to {tenths(found.high)})" if known else ""
    return f"{tenths(found.mean)}{ends}"


def _side(share: float) -> str:
    for word, last in (("at the left edge", 0.33), ("in the middle", 0.67)):
        if share < last:
            return word
    return "at the right edge"


def _table(held: Held) -> pandas.DataFrame:
    import pandas as pd

    seeds, count = held.delay_s.shape
    return pd.DataFrame(
        {
            "seed": np.repeat(np.arange(1, seeds + 1), count),
            "runner": np.tile(np.arange(1, count + 1), seeds),
            "passed_s": held.passed_s.ravel(),
            "delay_s": held.delay_s.ravel(),
        }
    )


def _html(scenario: Scenario, said: list[str], picture: bytes) -> str:
    head = f'<meta charset="utf-8"><title>{escape(scenario.name)}</title><style>{STYLE}</style>'
    invented = "Invented world. " if scenario.invented else ""
    body = [f"<h1>{escape(scenario.name)}: if somebody is down</h1>"]
    body += [f"<p>{escape(invented)}{escape(said[0])}</p>"]
    body += [f"<p>{escape(sentence)}</p>" for sentence in said[1:]]
    data = base64.b64encode(picture).decode()
    body.append(f'<p><img alt="Delay of every runner" src="data:image/png;base64,{data}"></p>')
    body += [f'<p class="note">{escape(text)}</p>' for text in (NO_FORECAST, CAUTION)]
    return (
        f'<!doctype html><html lang="en"><head>{head}</head><body>{"".join(body)}</body></html>\n'
    )
