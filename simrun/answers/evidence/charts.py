"""The pictures of the evidence page: plain arrays in, PNG bytes out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]
Band = tuple[float, float]

MARKERS = ("o", "s", "^", "D")
DASHES = ("-", "--", "-.", ":")
LINES = ("ours", "slowed", "marked", "muted")


def _panels(count: int, width: float = 4.6, height: float = 3.4) -> tuple[Figure, list[Axes]]:
    figure = blank_figure(width * count, height)
    axes = [figure.add_subplot(1, count, i + 1) for i in range(count)]
    for each in axes:
        each.spines[["top", "right"]].set_visible(False)
        each.grid(color=chart_ink("rule"), linewidth=0.5)
        each.set_axisbelow(True)
    return figure, axes


def _line(axes: Axes, x: Array, y: Array, number: int, label: str) -> None:
    style: dict[str, Any] = {
        "marker": MARKERS[number],
        "linestyle": DASHES[number],
        "color": chart_ink(LINES[number]),
    }
    axes.plot(x, y, label=label, markersize=5, **style)


def _band(axes: Axes, band: Band, label: str) -> None:
    axes.axhspan(*band, color=chart_ink("rule"), alpha=0.55, label=label, zorder=0)


def runners_chart(density: Array, speed: Array, wished_m_s: float, band: Band) -> bytes:
    """Flow and speed of runners against density, with the published band of the saturated flow."""
    picture, (flow, fast) = _panels(2)
    _band(flow, band, "published at saturation")
    _line(flow, density, density * speed, 0, "model")
    flow.set(xlabel="runners per square metre", ylabel="flow, runners a second and metre")
    flow.set_ylim(0, 1.15 * max(band[1], float((density * speed).max())))
    flow.legend(frameon=False)
    _line(fast, density, speed, 0, "model")
    fast.axhline(wished_m_s, color=chart_ink("muted"), linestyle=":", label="wished")
    fast.set(xlabel="runners per square metre", ylabel="mean speed, m/s")
    fast.set_ylim(0, 1.1 * wished_m_s)
    fast.legend(frameon=False)
    return png_of(picture)


def walkers_chart(density: Array, speed: Array, published: Array, low: Array, high: Array) -> bytes:
    """Speed of walkers against density, with the published values and their spread."""
    picture, (axes,) = _panels(1, width=5.6)
    axes.fill_between(
        density, low, high, color=chart_ink("rule"), alpha=0.55, label="20 % either side"
    )
    _line(axes, density, published, 1, "published")
    _line(axes, density, speed, 0, "model")
    axes.set(xlabel="walkers per square metre", ylabel="mean speed, m/s")
    axes.set_ylim(bottom=0)
    axes.legend(frameon=False)
    return png_of(picture)


def width_chart(
    who: Sequence[str], width: Sequence[Array], flow: Sequence[Array], bands: Sequence[Band]
) -> bytes:
    """Flow against the width of an opening, one panel a crowd, between the published lines."""
    picture, panels = _panels(len(who))
    for name, axes, x, y, (low, high) in zip(who, panels, width, flow, bands, strict=True):
        along = np.array([0.0, 1.08 * x.max()])
        axes.fill_between(
            along, low * along, high * along, color=chart_ink("rule"), alpha=0.55, label="published"
        )
        _line(axes, x, y, 0, "model")
        axes.set(title=name, xlabel="width, m", ylabel="persons a second", xlim=(0, along[1]))
        axes.set_ylim(bottom=0)
        axes.legend(frameon=False, loc="upper left")
    return png_of(picture)


def queue_chart(loss_s: Array, law_s: Array) -> bytes:
    """Count through against time, and loss by rank, both against the straight line: (S, N) each."""
    picture, (count, rank) = _panels(2)
    ranks = np.arange(1, loss_s.shape[1] + 1)
    for run, (loss, law) in enumerate(zip(loss_s, law_s, strict=True)):
        first = run == 0
        count.plot(
            loss, ranks, color=chart_ink("ours"), linewidth=0.9, label="model" if first else None
        )
        rank.plot(
            ranks, loss, color=chart_ink("ours"), linewidth=0.9, label="model" if first else None
        )
        dashed: dict[str, Any] = {"color": chart_ink("text"), "linestyle": "--", "linewidth": 0.9}
        count.plot(law, ranks, label="straight line of the same runs" if first else None, **dashed)
        rank.plot(ranks, law, label="(n - 1) / C" if first else None, **dashed)
    count.set(xlabel="seconds after the first", ylabel="persons through")
    rank.set(xlabel="rank n at the throat", ylabel="seconds lost")
    for axes in (count, rank):
        axes.set(xlim=(0, None), ylim=(0, None))
        axes.legend(frameon=False, loc="upper left")
    return png_of(picture)


def flip_chart(runners: Array, share: Array, mean_s: Array, reach_s: Array) -> bytes:
    """Exit time inside minus outside against the share that hugs the inside, one line a field size."""
    picture, (axes,) = _panels(1, width=7.2, height=4.2)
    shift = 0.7 * (np.arange(len(runners)) - (len(runners) - 1) / 2)
    for i, size in enumerate(runners):
        axes.errorbar(
            100 * share + shift[i],
            mean_s[i],
            reach_s[i],
            marker=MARKERS[i],
            linestyle=DASHES[i],
            color=chart_ink(LINES[i]),
            capsize=3,
            label=f"{size:g} runners",
        )
    axes.axhline(0, color=chart_ink("text"), linewidth=1)
    axes.set(xlabel="share of the others that hugs the inside, %")
    axes.set(ylabel="exit time, inside minus outside, s")
    for height, words, side in (
        (0.97, "outside is faster", "top"),
        (0.03, "inside is faster", "bottom"),
    ):
        axes.text(
            0.62, height, words, transform=axes.transAxes, ha="center", va=side, style="italic"
        )
    axes.legend(frameon=False, loc="upper left")
    return png_of(picture)


def shares_chart(
    titles: Sequence[str],
    names: Sequence[Sequence[str]],
    first: Sequence[Array],
    total: Sequence[Array],
) -> bytes:
    """Which inputs decide? Shares of variance alone and with the others, one panel an outcome."""
    picture, panels = _panels(len(titles), width=4.9, height=3.0)
    for title, labels, axes, alone, whole in zip(titles, names, panels, first, total, strict=True):
        at = np.arange(len(labels))[::-1]
        axes.barh(at + 0.2, 100 * alone, 0.38, color=chart_ink("ours"), label="alone")
        kind: dict[str, Any] = {"color": "white", "edgecolor": chart_ink("text"), "hatch": "///"}
        axes.barh(at - 0.2, 100 * whole, 0.38, label="with others", **kind)
        axes.set_yticks(at, labels, fontsize=8)
        axes.set_title(title, fontsize=9)
        axes.set_xlabel("share of the variance by inputs, %")
        axes.set_xlim(left=0)
    panels[0].legend(frameon=False, fontsize=8, loc="lower right")
    return png_of(picture)
