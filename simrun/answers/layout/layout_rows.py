"""The layouts as rows of text: side by side, mark by mark, one by one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.answers.layout.fair.fairness import (
    drawn_share,
    points_between,
    unfairness_s,
    worst_pair,
    worst_pair_in_points,
)
from simrun.answers.layout.fair.layout_sample import LayoutSample, known_mean, mean_of
from simrun.answers.layout.layout_found import Found
from simrun.answers.layout.layout_measures import place_name
from simrun.answers.layout.varied import SETTINGS, ground_m, said
from simrun.answers.layout.words import STANDING, apart_words, pair_words
from simrun.base.units import length_text
from simrun.measure.crowd import PLACE_NAMES
from simrun.pages.numbers import DASH, ends, mean_and_ends, percent, tenths
from simrun.trials.how_sure import Sure
from simrun.trials.statistics import Estimate

if TYPE_CHECKING:
    import pandas

Rows = list[list[str]]

SHORT = (
    "extra way of the farthest box, exact|spread between boxes, s|that by chance alone, s"
    "|seconds lost, everybody|worst pair of boxes"
    "|decided by the draw|slowed|held up by others, s a runner|highest density, people/m2"
)
LONGEST_HEAD = 60
"""Letters; a layout in more words than that would make the table too wide."""

POINTS = "the same in team points at the finish"
FAIR = "spread between boxes s|lost s|worst pair|apart s|decided by the draw"
CROWD = "slowed|held up s|most of it|slow s|highest density /m2|where|flow /s/m|strung out s"
PLACES = "place|held up s|slow s|highest density /m2|flow /s/m"
MARKS = "at|spread between boxes|chance alone|the two boxes furthest apart|decided by the draw"
FRONT = "|layout|spread between boxes s|held up s|ground to be added"


def short_rows(found: Found, table: pandas.DataFrame, units: str) -> Rows:
    """The layout as it is and the chosen one, a row a measure."""
    here = table[table.checkpoint == found.at].to_dict("records")
    head, columns = ["measure"], []
    numbers = list(dict.fromkeys((0, found.chosen_number())))
    for number in numbers:
        fair, crowd = _fair_cells(here[number]), _crowd_cells(here[number])
        told = said(found.chosen()[0], units) if number else "as it is"
        head.append(told if len(told) <= LONGEST_HEAD else "the layout told above")
        exact = length_text(here[number]["extra_m_farthest_box"], units)
        pair = fair[3] if fair[2] == DASH else f"{fair[2]}: {fair[3]} s"
        alone = _chance_cell(here[number])
        columns.append([exact, fair[0], alone, fair[1], pair, fair[4], *crowd[:2], crowd[4]])
    rows = [head, *(list(row) for row in zip(SHORT.split("|"), *columns, strict=True))]
    every = found.every()
    points = [points_between(every[number][1]) for number in numbers]
    if all(told is not None for told in points):
        rows.insert(4, [POINTS, *(_spread_text(told) for told in points if told is not None)])
    return rows


def mark_rows(now: LayoutSample) -> Rows:
    """How fair the present layout is, checkpoint by checkpoint."""
    rows = [MARKS.split("|")]
    for name in now.checkpoints:
        spread, pair, share = unfairness_s(now, name), worst_pair(now, name), drawn_share(now, name)
        rows.append([name, *_spread_cells(spread, "s"), pair_words(pair, "s"), _share_text(share)])
    points, pair_points = points_between(now), worst_pair_in_points(now)
    if points is not None and pair_points is not None:
        told = f"{now.checkpoints[-1]}, team points", *_spread_cells(points, "points")
        rows.append([*told, pair_words(pair_points, "points"), DASH])
    return rows


def _spread_cells(found: Sure, unit: str) -> tuple[str, str]:
    """A spread over everything that is not known, and what chance alone leaves of its range."""
    alone = found.by_chance
    known = found.count > 1 and np.isfinite(alone.low)
    told = f"{_spread_text(found)} {unit}" if found.count > 1 else DASH
    return told, ends(alone.low, alone.high) if known else DASH


def _spread_text(found: Estimate) -> str:
    """A spread with its interval; one race says nothing about it."""
    return mean_and_ends(found) if found.count > 1 else DASH


def _share_text(share: Estimate) -> str:
    if share.count < 2:
        return DASH
    return f"{percent(share.mean)} ({100 * share.low:.0f} to {100 * share.high:.0f})"


def layout_rows(found: Found, table: pandas.DataFrame, units: str) -> tuple[Rows, Rows]:
    """Two tables of all layouts, their settings first: what is fair, and how the crowd fares."""
    titles = [SETTINGS[name].title for name in found.ranges]
    fair, crowd = ([["", *titles, *head.split("|")]] for head in (FAIR, CROWD))
    every = found.every()
    in_points = [points_between(sample) for _, sample in every]
    if any(told is not None for told in in_points):
        fair[0].insert(2 + len(titles), "in team points at the finish")
    for row in table[table.checkpoint == found.at].to_dict("records"):
        layout = ["as it is" if row["layout"] == 1 else str(int(row["layout"]) - 1)]
        layout += [_value_text(name, row, units) for name in found.ranges]
        spread, *others = _fair_cells(row)
        told = in_points[int(row["layout"]) - 1]
        points = [] if told is None else [_spread_text(told)]
        fair.append([*layout, spread, *points, *others])
        crowd.append([*layout, *_crowd_cells(row)])
    return fair, crowd


def _value_text(name: str, row: dict[Any, Any], units: str) -> str:
    value = float(row.get(name, np.nan))
    return DASH if np.isnan(value) else SETTINGS[name].value_text(round(value, 2), units)


def interval_of(row: Mapping[Any, Any], name: str) -> Estimate:
    """A figure of the table with its interval again."""
    return Estimate(row[name], row[f"{name}_low"], row[f"{name}_high"], int(row["races"]), 1.0)


def _fair_cells(row: dict[Any, Any]) -> list[str]:
    spread, apart = (interval_of(row, name) for name in ("unfairness_s", "apart_s"))
    share = float(row["drawn_share"]) if row["races"] > 1 else np.nan
    return [
        _spread_text(spread),
        tenths(float(row["lost_s"])),
        f"{row['worst_box']} against {row['best_box']}" if apart.low > 0 else DASH,
        apart_words(apart),
        percent(share),
    ]


def _chance_cell(row: dict[Any, Any]) -> str:
    """The range of the spread that chance alone leaves, the inputs that nobody has measured held."""
    low = float(row.get("unfairness_s_chance_low", row["unfairness_s_low"]))
    high = float(row.get("unfairness_s_chance_high", row["unfairness_s_high"]))
    return ends(low, high) if np.isfinite([low, high]).all() else DASH


def _crowd_cells(row: dict[Any, Any]) -> list[str]:
    density = (
        f"{row['crowd_density_per_m2']:.1f} (most {row.get('crowd_density_highest_per_m2', 0):.1f})"
    )
    flow = float(row["crowd_flow_per_s_m"])
    return [
        percent(float(row["crowd_slowed_share"])),
        tenths(float(row["crowd_queue_s"])),
        str(row["crowd_queue_place"]),
        tenths(float(row["crowd_slow_s"])),
        density,
        str(row.get("crowd_density_place", DASH)),
        DASH if np.isnan(flow) else f"{flow:.2f}",
        _strung_text(row),
    ]


def place_rows(sample: LayoutSample) -> Rows:
    """The crowd of one layout place by place; the first column of seconds adds up to the last row."""
    told = [sample.crowd_at(name) for name in PLACE_NAMES]
    rows = [PLACES.split("|")]
    for p, place in enumerate(sample.places):
        queue, slow, density, flow = (known_mean(values[:, p]) for values in told)
        name = STANDING if place.kind == "standing" else place_name(sample.places, p)
        rows.append([name, tenths(queue), tenths(slow), tenths(density), tenths(flow)])
    whole = [tenths(float(sample.crowd_of(name).mean())) for name in ("queue_s", "slow_s")]
    return [*rows, ["all the way to the end", *whole, "", ""]]


def _strung_text(row: dict[Any, Any]) -> str:
    late, races = row["crowd_still_crowded_races"], row["races"]
    if late == races:
        return "not by the end"
    told = f"{row['crowd_strung_out_s']:.0f}"
    return f"{told} (not by the end in {late} of {races} races)" if late else told


def front_rows(found: Found, units: str) -> Rows:
    """The layouts of a search that nothing beats, with fresh races."""
    rows = [FRONT.split("|")]
    front = found.searched.front if found.searched else []
    for i, (values, sample) in enumerate(front, start=1):
        spread = unfairness_s(sample, found.at)
        ground = length_text(ground_m(found.scenario, values), units)
        queue = tenths(mean_of(sample, "queue_s"))
        rows.append([str(i), said(values, units), _spread_text(spread), queue, ground])
    return rows
