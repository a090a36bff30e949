"""Which pictures does a layout study draw? Maps or curves over its axes, trade-offs, the start."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.answers.layout.knobs import KNOBS, present, said
from simrun.answers.layout.layout_measures import LayoutSample, unfairness_s
from simrun.answers.layout.layout_sweep import mean_of
from simrun.answers.layout.run import Answer
from simrun.sources import figure

if TYPE_CHECKING:
    import pandas

    from simrun.pictures.charts.layout_maps import Axis, Panel

Array = NDArray[np.float64]
Picture = tuple[str, str, bytes]
"""The file's name, what it shows, and the PNG."""

SHOWN = (
    ("unfairness_s", "Spread between boxes, s", 1.0),
    ("crowd_queue_s", "Queueing, s a runner", 1.0),
    ("crowd_slowed_share", "Slowed below half of the wished speed, %", 100.0),
    ("crowd_density_per_m2", "Highest density over 1 m2 and 1 s, people/m2", 1.0),
)
MOST_MAPS = 6


def pictures_of(answer: Answer, table: pandas.DataFrame) -> list[Picture]:
    """Every picture of the page, in order."""
    found = _over_axes(answer, table) + _trade_offs(answer)
    values, chosen = answer.chosen()
    found.append(_start("start_now.png", answer, answer.now, "as it is"))
    if values:
        found.append(_start("start_chosen.png", answer, chosen, said(values)))
    return found


def _over_axes(answer: Answer, table: pandas.DataFrame) -> list[Picture]:
    if answer.sweep is None:
        return []
    axes = [name for name, values in answer.ranges.items() if len(values) > 1][:2]
    if not axes:
        return []
    others = [name for name in answer.ranges if name not in axes]
    held = list(product(*(answer.ranges[name] for name in others)))[:MOST_MAPS]
    rows = table[(table.checkpoint == answer.at) & (table.layout > 1)]
    pictures = []
    for number, values in enumerate(held, start=1):
        there = rows
        for name, value in zip(others, values, strict=True):
            there = there[np.isclose(there[name], value)]
        label = said(dict(zip(others, values, strict=True))) if others else ""
        name = "layout_map.png" if len(held) == 1 else f"layout_map_{number}.png"
        pictures.append(_map(name, answer, there, axes, label))
    return pictures


def _map(name: str, answer: Answer, rows: pandas.DataFrame, axes: list[str], held: str) -> Picture:
    from simrun.pictures.charts.box_charts import png_of
    from simrun.pictures.charts.layout_maps import curves, maps

    across, up = _axis(answer, axes[0]), _axis(answer, axes[1]) if len(axes) > 1 else None
    panels = [_panel(rows, axes, answer, *shown) for shown in SHOWN]
    rule = _grid(rows, axes, answer, "crowd_straight_m") - _grid(
        rows, axes, answer, "crowd_rule_straight_m"
    )
    if up is None:
        rule_at = _zero(np.array(across.values), rule[0])
        figure = curves(panels, across, rule_at)
    else:
        figure = maps(panels, across, up, rule)
    title = f"at {answer.at}, {len(answer.seeds)} races a layout" + (f"; {held}" if held else "")
    figure.suptitle(f"{answer.scenario.name}: {title}", x=0.01, ha="left", fontsize=11)
    alt = "Fairness and crowding over " + " and ".join(KNOBS[a].title for a in axes)
    return name, alt, png_of(figure)


def _zero(x: Array, margin: Array) -> float | None:
    """Where along an axis does the rule's margin change its sign? None: nowhere on it."""
    turn = np.flatnonzero((margin[:-1] < 0) != (margin[1:] < 0))
    if not len(turn) or not np.isfinite(margin).all():
        return None
    i = int(turn[0])
    return float(x[i] - margin[i] * (x[i + 1] - x[i]) / (margin[i + 1] - margin[i]))


def _axis(answer: Answer, name: str) -> Axis:
    from simrun.pictures.charts.layout_maps import Axis

    knob = KNOBS[name]
    title = f"{knob.title}, {knob.unit}" if knob.unit else knob.title
    return Axis(title, answer.ranges[name], present(answer.scenario).get(name))


def _panel(
    rows: pandas.DataFrame, axes: list[str], answer: Answer, column: str, title: str, scale: float
) -> Panel:
    from simrun.pictures.charts.layout_maps import Panel

    mean, low, high = (
        scale * _grid(rows, axes, answer, column + end) for end in ("", "_low", "_high")
    )
    bands: tuple[tuple[float, str], ...] = ()
    if column == "crowd_density_per_m2":
        names = {"slowed": "slowed", "contact": "contact", "force": "forces"}
        found = {key: figure(f"crowd.density_{key}_per_m2").value for key in names}
        bands = tuple((value, f"{value:g} {names[key]}") for key, value in found.items())
    return Panel(title, mean, low, high, bands)


def _grid(rows: pandas.DataFrame, axes: list[str], answer: Answer, column: str) -> Array:
    """A column laid out over the axes, (Y, X); nan where a layout did not fit."""
    across = answer.ranges[axes[0]]
    up = answer.ranges[axes[1]] if len(axes) > 1 else (0.0,)
    laid = np.full((len(up), len(across)), np.nan)
    for _, row in rows.iterrows():
        x = int(np.abs(np.array(across) - float(row[axes[0]])).argmin())
        y = int(np.abs(np.array(up) - float(row[axes[1]])).argmin()) if len(axes) > 1 else 0
        laid[y, x] = float(row[column])
    return laid


def _trade_offs(answer: Answer) -> list[Picture]:
    found = answer.found
    if found is None:
        return []
    from simrun.pictures.charts.box_charts import png_of
    from simrun.pictures.charts.layout_maps import trade_offs

    unfair = np.array([unfairness_s(s, answer.at).mean for _, s in found.front])
    queue = np.array([mean_of(s, "queue_s") for _, s in found.front])
    now = unfairness_s(found.now, answer.at).mean, mean_of(found.now, "queue_s")
    labels = [str(i + 1) for i in range(len(unfair))]
    alt = "Spread between boxes against queueing"
    return [("layout_trade_offs.png", alt, png_of(trade_offs(unfair, queue, labels, now)))]


def _start(name: str, answer: Answer, sample: LayoutSample, words: str) -> Picture:
    from simrun.pictures.charts.box_charts import png_of, start_map

    lost = np.nanmean(sample.by_box(sample.lost_s[:, :, sample.at(answer.at)]), axis=0)
    by_box = dict(zip(np.unique(sample.box).tolist(), lost.tolist(), strict=True))
    title = f"{words}: mean seconds lost at {answer.at}"
    return (
        name,
        f"The start {words}, coloured by seconds lost",
        png_of(start_map(sample.day, by_box, title)),
    )
