"""How do fairness and crowding change over layouts? Maps over two knobs, curves over one, trade-offs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.charts.chart import COLOUR_MAP, blank_figure, chart_ink

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]

PARTS = 12
"""So many steps from one raced layout to the next, for smooth contours and room for their labels."""


@dataclass(frozen=True)
class Panel:
    """One figure over the layouts: (Y, X) means, with intervals where they are drawn; labelled bands."""

    title: str
    mean: Array
    low: Array
    high: Array
    bands: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True)
class Axis:
    """One knob: what it is called, its values, and where it stands now (None: not on this axis)."""

    title: str
    values: tuple[float, ...]
    now: float | None = None


def refined(values: Array, parts: int = PARTS) -> Array:
    """The same figure between the layouts that were raced, linear along either axis; nan spreads no further.

    (Y, X) to ((Y - 1) parts + 1, (X - 1) parts + 1).
    """
    return _along(_along(values, parts).T, parts).T


def _along(values: Array, parts: int) -> Array:
    """Rows with `parts` steps from each column to the next."""
    at = np.arange((values.shape[1] - 1) * parts + 1) / parts
    before = np.minimum(at.astype(int), values.shape[1] - 2)
    share = at - before
    low, high = values[:, before], values[:, before + 1]
    return np.where(share == 0, low, np.where(share == 1, high, low + share * (high - low)))


def raster(across: Axis, up: Axis) -> tuple[Array, Array]:
    """The knobs' values at every point of a refined figure."""
    lines = [refined(np.array([axis.values, axis.values]))[0] for axis in (across, up)]
    x, y = np.meshgrid(*lines)
    return x, y


def maps(panels: list[Panel], across: Axis, up: Axis, rule: Array | None = None) -> Figure:
    """Contour maps, four to a picture; every raced layout a small dot, the present one a large one.

    rule (Y, X): straight less the straight beyond which the dispersion rule expects no queue; its zero is
    drawn as a dashed line. Check: tests/unit/pictures/test_layout_pictures.py.
    """
    figure = blank_figure(10.0, 8.4)
    for axes, panel in zip(figure.subplots(2, 2).flat, panels, strict=False):
        _map(axes, panel, across, up)
        if rule is not None:
            _rule(axes, rule, across, up)
        _present(axes, across.now, up.now)
    _legend(
        figure, rule is not None and _crosses(rule), across.now is not None and up.now is not None
    )
    return figure


def _crosses(rule: Array) -> bool:
    known = rule[np.isfinite(rule)]
    return bool(len(known)) and known.min() < 0 < known.max()


def _map(axes: Axes, panel: Panel, across: Axis, up: Axis) -> None:
    from matplotlib.patheffects import withStroke

    known = np.ma.masked_invalid(refined(panel.mean))
    x, y = raster(across, up)
    if known.count():
        low, high = float(known.min()), float(known.max())
        levels = np.linspace(low, max(high, low + 1e-3), 9)
        filled = axes.contourf(x, y, known, levels, cmap=COLOUR_MAP)
        axes.figure.colorbar(filled, ax=axes, shrink=0.9, format="%.3g")
        lines = axes.contour(
            x, y, known, levels[1:-1:2], colors=[chart_ink("paper")], linewidths=0.7
        )
        for text in axes.clabel(lines, fontsize=8, fmt="%.2g", colors=[chart_ink("paper")]):
            text.set_path_effects([withStroke(linewidth=2.2, foreground=chart_ink("text"))])
        _bands(axes, panel, known, x, y)
    x, y = np.meshgrid(across.values, up.values)
    raced, edge = np.isfinite(panel.mean), chart_ink("text")
    axes.scatter(
        x[raced],
        y[raced],
        s=9,
        color=chart_ink("paper"),
        edgecolors=edge,
        lw=0.5,
        clip_on=False,
        zorder=4,
    )
    axes.set_title(panel.title, loc="left", fontsize=10)
    axes.set_xlabel(across.title, fontsize=9)
    axes.set_ylabel(up.title, fontsize=9)


def _bands(axes: Axes, panel: Panel, known: Any, x: Array, y: Array) -> None:
    """Where a published threshold runs through the map, its name on the line."""
    from matplotlib.patheffects import withStroke

    for level, name in panel.bands:
        if float(known.min()) < level < float(known.max()):
            line = axes.contour(x, y, known, [level], colors=[chart_ink("slowed")], linewidths=1.8)
            for text in axes.clabel(line, fontsize=8, fmt={level: name}):
                text.set_path_effects([withStroke(linewidth=2.2, foreground=chart_ink("paper"))])


def _rule(axes: Axes, rule: Array, across: Axis, up: Axis) -> None:
    if _crosses(rule):
        x, y = raster(across, up)
        for colour, width in ((chart_ink("text"), 3.4), (chart_ink("followed"), 1.8)):
            axes.contour(
                x, y, refined(rule), [0.0], colors=[colour], linewidths=width, linestyles="dashed"
            )


def _present(axes: Axes, x: float | None, y: float | None) -> None:
    if x is not None and y is not None:
        axes.scatter(
            [x],
            [y],
            s=90,
            color=chart_ink("slowed"),
            edgecolors=chart_ink("paper"),
            lw=2,
            zorder=5,
            clip_on=False,
        )


def _legend(figure: Figure, with_rule: bool, with_present: bool) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patheffects import withStroke

    dot: dict[str, Any] = {"linestyle": "", "marker": "o", "markeredgecolor": chart_ink("text")}
    entries = [
        Line2D([], [], color=chart_ink("paper"), ms=4, label="a layout that was raced", **dot)
    ]
    if with_present:
        entries.append(
            Line2D([], [], color=chart_ink("slowed"), ms=9, label="the layout as it is", **dot)
        )
    if with_rule:
        told = "dispersion rule: no queue expected on the long, wide side"
        line: dict[str, Any] = {"ls": "--", "lw": 1.8, "label": told}
        dark = [withStroke(linewidth=3.4, foreground=chart_ink("text"))]
        entries.append(Line2D([], [], color=chart_ink("followed"), path_effects=dark, **line))
    figure.legend(handles=entries, fontsize=8, frameon=False, ncols=3, loc="outside lower center")


def curves(panels: list[Panel], across: Axis, rule_m: float | None = None) -> Figure:
    """The same over one knob: means with their 95 % intervals, the present layout marked."""
    figure = blank_figure(10.0, 6.6)
    x = np.array(across.values)
    for axes, panel in zip(figure.subplots(2, 2).flat, panels, strict=False):
        low, high = (np.where(np.isfinite(v[0]), v[0], np.nan) for v in (panel.low, panel.high))
        axes.vlines(x, low, high, colors=[chart_ink("muted")], linewidth=2)
        axes.plot(x, panel.mean[0], "o-", color=chart_ink("ours"), ms=5)
        for level, name in panel.bands:
            if level < 1.3 * np.nanmax([*panel.mean[0], 0.0]):
                axes.axhline(level, color=chart_ink("slowed"), lw=1)
                axes.text(x[0], level, name, fontsize=7, va="bottom")
        if across.now is not None:
            axes.axvline(across.now, color=chart_ink("slowed"), lw=1.4, ls=":")
        if rule_m is not None and x.min() < rule_m < x.max():
            axes.axvline(rule_m, color=chart_ink("text"), lw=1.4, ls="--")
        axes.set_title(panel.title, loc="left", fontsize=10)
        axes.set_xlabel(across.title, fontsize=9)
        axes.set_ylim(bottom=0)
        axes.spines[["top", "right"]].set_visible(False)
    _curve_legend(figure, rule_m is not None and x.min() < rule_m < x.max())
    return figure


def _curve_legend(figure: Figure, with_rule: bool) -> None:
    from matplotlib.lines import Line2D

    entries = [
        Line2D([], [], color=chart_ink("ours"), marker="o", label="mean with its 95 % interval"),
        Line2D([], [], color=chart_ink("slowed"), ls=":", label="the layout as it is"),
    ]
    if with_rule:
        told = "dispersion rule: no queue expected to the right"
        entries.append(Line2D([], [], color=chart_ink("text"), ls="--", label=told))
    figure.legend(handles=entries, fontsize=8, frameon=False, ncols=3, loc="outside lower center")


@dataclass(frozen=True)
class Dot:
    """One layout: its words, and the mean with its interval of spread, seconds lost and density."""

    words: str
    spread_s: tuple[float, float, float]
    lost_s: tuple[float, float, float]
    density: float
    ink: str = "muted"
    mark: str = "o"


def weighed(dots: list[Dot], at: str) -> Figure:
    """Layouts in the three things that are weighed: spread up, seconds lost across, marks as crowded.

    Lower left is better. The present layout and those that are better and no worse are named.
    Check: tests/unit/answers/test_layout_weighed.py.
    """
    figure = blank_figure(7.0, 4.6)
    axes = figure.subplots()
    most = max((dot.density for dot in dots), default=1.0)
    for dot in sorted(dots, key=lambda each: each.ink != "muted"):
        (y, low, high), (x, left, right), color = dot.spread_s, dot.lost_s, chart_ink(dot.ink)
        axes.vlines(x, max(0.0, low), high, color=color, linewidth=1.2, alpha=0.7)
        axes.hlines(y, left, right, color=color, linewidth=1.2, alpha=0.7)
        axes.scatter(
            x,
            y,
            s=30 + 170 * dot.density / most,
            marker=dot.mark,
            color=chart_ink("paper"),
            edgecolors=color,
            linewidths=2,
            zorder=3,
            label=dot.words or None,
        )
    axes.set_xlabel(f"seconds lost by everybody at {at}")
    axes.set_ylabel("spread between boxes, seconds")
    axes.set_ylim(bottom=0)
    axes.set_title("A larger mark: more people on the fullest square metre", fontsize=9, loc="left")
    axes.legend(frameon=False, fontsize=8, loc="upper center", bbox_to_anchor=(0.5, -0.14))
    axes.spines[["top", "right"]].set_visible(False)
    return figure


def trade_offs(
    unfair_s: Array, queue_s: Array, labels: list[str], now: tuple[float, float]
) -> Figure:
    """Layouts that nothing beats: seconds between boxes against seconds held up by others, numbered."""
    figure = blank_figure(7.0, 4.4)
    axes = figure.subplots()
    axes.scatter(
        queue_s, unfair_s, s=36, color=chart_ink("ours"), zorder=3, label="nothing beats it"
    )
    axes.scatter([now[1]], [now[0]], s=80, color=chart_ink("slowed"), zorder=3, label="as it is")
    for x, y, label in zip(queue_s, unfair_s, labels, strict=True):
        axes.annotate(label, (x, y), xytext=(5, 4), textcoords="offset points", fontsize=8)
    axes.set_xlabel("held up by others, seconds a runner")
    axes.set_ylabel("spread between boxes, seconds")
    axes.set_ylim(bottom=0)
    axes.set_xlim(left=0)
    axes.legend(frameon=False, fontsize=8)
    axes.spines[["top", "right"]].set_visible(False)
    return figure
