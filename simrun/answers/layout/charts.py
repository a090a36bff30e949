"""Which pictures does a layout study draw? Maps or curves over its settings, trade-offs, the start."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.answers.layout.crew.crew_drawing import crew_drawing
from simrun.answers.layout.fair.fairness import unfairness_s
from simrun.answers.layout.fair.layout_sample import LayoutSample, mean_of
from simrun.answers.layout.layout_found import Found
from simrun.answers.layout.layout_rows import interval_of
from simrun.answers.layout.varied import SETTINGS, present, said
from simrun.answers.to_watch import GUN, to_watch
from simrun.base.units import METRES_A_YARD
from simrun.pages.page import Figure
from simrun.pictures.charts.chart import png_of
from simrun.pictures.charts.layout_maps import Axis, Dot, Panel, curves, maps, trade_offs, weighed
from simrun.pictures.charts.start_map import start_map
from simrun.sources import figure
from simrun.trials.statistics import Estimate

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

NOW, CHOSEN, TRADE_OFFS = "start_now.png", "start_chosen.png", "layout_trade_offs.png"
WEIGHED, CREW = "layout_weighed.png", "layout_crew.png"

SHOWN = (
    ("unfairness_s", "Spread between boxes, s", 1.0),
    ("crowd_queue_s", "Held up by others, s a runner", 1.0),
    ("crowd_slowed_share", "Slowed below half of the wished speed, %", 100.0),
    ("crowd_density_per_m2", "Highest density over 1 m2 and 1 s, people/m2", 1.0),
)
MOST_MAPS = 6


def pictures_of(found: Found, table: pandas.DataFrame, units: str) -> dict[str, Figure]:
    """Every picture by its file's name, in order."""
    shown = _weighed(found, table, units) | _over_axes(found, table, units) | _trade_offs(found)
    values, chosen = found.chosen()
    shown[NOW] = _start(found, found.now, "as it is", units)
    if values:
        shown[CHOSEN] = _start(found, chosen, said(values, units), units)
    return shown | {CREW: crew_drawing(chosen.day, units)}


def _over_axes(found: Found, table: pandas.DataFrame, units: str) -> dict[str, Figure]:
    """A map for every combination of the settings that are no axes, at most six."""
    axes = [name for name, values in found.ranges.items() if len(values) > 1][:2]
    if found.sweep is None or not axes:
        return {}
    others = [name for name in found.ranges if name not in axes]
    held = list(product(*(found.ranges[name] for name in others)))[:MOST_MAPS]
    rows = table[(table.checkpoint == found.at) & (table.layout > 1)]
    pictures = {}
    for number, values in enumerate(held, start=1):
        there = rows
        for name, value in zip(others, values, strict=True):
            there = there[np.isclose(there[name], value)]
        label = said(dict(zip(others, values, strict=True)), units) if others else ""
        name = "layout_map.png" if len(held) == 1 else f"layout_map_{number}.png"
        pictures[name] = _map(found, there, axes, label, units)
    return pictures


def _map(found: Found, rows: pandas.DataFrame, axes: list[str], held: str, units: str) -> Figure:
    across, *more = (_axis(found, name, units) for name in axes)
    up = more[0] if more else None
    panels = [_panel(rows, axes, found, *shown) for shown in SHOWN]
    rule = _grid(rows, axes, found, "crowd_straight_m") - _grid(
        rows, axes, found, "crowd_rule_straight_m"
    )
    if up is None:
        drawn = curves(panels, across, _zero(np.array(across.values), rule[0]))
    else:
        drawn = maps(panels, across, up, rule)
    title = f"at {found.at}, {len(found.seeds)} races a layout" + (f"; {held}" if held else "")
    drawn.suptitle(f"{found.scenario.name}: {title}", x=0.01, ha="left", fontsize=11)
    alt = "Fairness and crowding over " + " and ".join(SETTINGS[a].title for a in axes)
    return to_watch(Figure(png_of(drawn), alt, held), found.scenario)


def _zero(x: Array, margin: Array) -> float | None:
    """Where along an axis does the rule's margin change its sign? None: nowhere on it."""
    turn = np.flatnonzero((margin[:-1] < 0) != (margin[1:] < 0))
    if not len(turn) or not np.isfinite(margin).all():
        return None
    i = int(turn[0])
    return float(x[i] - margin[i] * (x[i + 1] - x[i]) / (margin[i + 1] - margin[i]))


def _axis(found: Found, name: str, units: str) -> Axis:
    setting, now = SETTINGS[name], present(found.scenario).get(name)
    yards = units == "us" and setting.unit == "m"
    unit, each = ("yd", METRES_A_YARD) if yards else (setting.unit, 1.0)
    values = tuple(value / each for value in found.ranges[name])
    title = f"{setting.title}, {unit}" if unit else setting.title
    return Axis(title, values, None if now is None else now / each)


def _panel(
    rows: pandas.DataFrame, axes: list[str], found: Found, column: str, title: str, scale: float
) -> Panel:
    mean, low, high = (
        scale * _grid(rows, axes, found, column + end) for end in ("", "_low", "_high")
    )
    bands: tuple[tuple[float, str], ...] = ()
    if column == "crowd_density_per_m2":
        names = {"slowed": "slowed", "contact": "contact", "force": "forces"}
        known = {key: figure(f"crowd.density_{key}_per_m2").value for key in names}
        bands = tuple((value, f"{value:g} {names[key]}") for key, value in known.items())
    return Panel(title, mean, low, high, bands)


def _grid(rows: pandas.DataFrame, axes: list[str], found: Found, column: str) -> Array:
    """A column laid out over the axes, (Y, X); nan where a layout did not fit."""
    across = found.ranges[axes[0]]
    up = found.ranges[axes[1]] if len(axes) > 1 else (0.0,)
    laid = np.full((len(up), len(across)), np.nan)
    for _, row in rows.iterrows():
        x = int(np.abs(np.array(across) - float(row[axes[0]])).argmin())
        y = int(np.abs(np.array(up) - float(row[axes[1]])).argmin()) if len(axes) > 1 else 0
        laid[y, x] = float(row[column])
    return laid


def _weighed(found: Found, table: pandas.DataFrame, units: str) -> dict[str, Figure]:
    """The layouts of a sweep in the three things that are weighed."""
    if not found.weighed or len(found.seeds) < 2:
        return {}
    best, fairest = found.better[0] if found.better else None, found.fairest
    now, *raced = table[table.checkpoint == found.at].to_dict("records")
    dots = [_dot(now, "as it is", ("slowed", "s"))]
    for each, row in zip(found.weighed, raced, strict=True):
        words = "better and no worse: " if each is best else "the fairest by itself: "
        words += said(each.values, units)
        named = each is best or each is fairest
        look = ("ours" if each in found.better else "muted", "D" if named else "o")
        dots.append(_dot(row, words if named else "", look))
    alt = "Every layout by the seconds that everybody loses and the spread between boxes"
    return {WEIGHED: to_watch(Figure(png_of(weighed(dots, found.at)), alt), found.scenario)}


def _dot(row: Mapping[Any, Any], words: str, look: tuple[str, str]) -> Dot:
    """A layout by its row of the table at the mark where layouts are compared."""
    told = (interval_of(row, name) for name in ("unfairness_s", "lost_s"))
    spread_s, lost_s = ((e.mean, *_known(e)) for e in told)
    return Dot(words, spread_s, lost_s, float(row["crowd_density_per_m2"]), *look)


def _known(found: Estimate) -> tuple[float, float]:
    """The interval, or none where so few races tell none."""
    if not np.isfinite([found.low, found.high]).all():
        return found.mean, found.mean
    return found.low, found.high


def _trade_offs(found: Found) -> dict[str, Figure]:
    searched = found.searched
    if searched is None:
        return {}
    unfair = np.array([unfairness_s(s, found.at).mean for _, s in searched.front])
    queue = np.array([mean_of(s, "queue_s") for _, s in searched.front])
    now = unfairness_s(searched.now, found.at).mean, mean_of(searched.now, "queue_s")
    labels = [str(i + 1) for i in range(len(unfair))]
    drawn = png_of(trade_offs(unfair, queue, labels, now))
    alt = "Spread between boxes against what the others cost"
    return {TRADE_OFFS: to_watch(Figure(drawn, alt), found.scenario)}


def _start(found: Found, sample: LayoutSample, words: str, units: str) -> Figure:
    lost = np.nanmean(sample.by_box(sample.lost_s[:, :, sample.at(found.at)]), axis=0)
    by_box = dict(zip(np.unique(sample.box).tolist(), lost.tolist(), strict=True))
    title = f"{words}: mean seconds lost at {found.at}"
    drawn = start_map(sample.day, by_box, title, units=units)
    alt = f"The start {words}, each box colored by the seconds it lost"
    return to_watch(Figure(drawn, alt), sample.day, GUN)
