"""Where was the time lost? Distance against seconds: ours, every box, and how close and how fast they ran."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.units import METRES_A_MILE, METRES_A_YARD
from simrun.base.writing import written_beside
from simrun.pictures.charts.chart import COLOUR_MAP, chart_ink
from simrun.pictures.map.unrolled import along_and_across
from simrun.pictures.story.losing import Losing
from simrun.pictures.story.moments import Followed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]

PAGE_INCH = (11.69, 8.27)
STEP_M, WAVE_M, WAVE_S = 5.0, 10.0, 2.0
"""Lines are drawn every STEP_M; density and speed are means over WAVE_M of the course and WAVE_S."""

MOST_TICKS = 6
MOST_BOXES, BOX_COLUMNS = 32, 8
LEAST_APART_SHARE = 0.045
"""Names of marks nearer to one another than this share of the width are left out, those of gates first."""


@dataclass(frozen=True)
class WhereLost:
    """What is drawn of one race. whom: whose lines; units: metric or us."""

    losing: Losing
    whom: Followed
    units: str

    @cached_property
    def places_m(self) -> Array:
        """Metres along the measured line, to the last mark, (P,)."""
        return np.arange(0.0, self.losing.recording.strip.checkpoints[-1].station_m + 0.1, STEP_M)

    @cached_property
    def lost_s(self) -> Array:
        """Seconds lost by everybody when they first came to each place, (N, P); nan where not come to."""
        account = self.losing.account
        found = np.full((account.place_m.shape[1], len(self.places_m)), np.nan)
        lost = account.lost_s
        for i in range(len(found)):
            place, first = np.unique(account.place_m[:, i], return_index=True)
            found[i] = np.interp(self.places_m, place, lost[first, i], right=np.nan)
        return found

    @cached_property
    def waves(self) -> tuple[Array, Array, Array, Array]:
        """Edges along (A,) and in seconds after the first (B,); runners a square metre and mean metres a
        second, (B-1, A-1)."""
        recording = self.losing.recording
        strip, times = recording.strip, recording.times_s
        along, _ = along_and_across(strip, recording.position_m)
        furthest = np.maximum.accumulate(np.nan_to_num(along, nan=-np.inf).max(axis=1))
        front, first = np.unique(furthest, return_index=True)
        there = np.isfinite(along) & (along >= 0) & (along <= self.places_m[-1])
        when = np.broadcast_to(times[:, None], along.shape)[there]
        when = when - np.interp(along[there], front, times[first])
        a = np.arange(0.0, self.places_m[-1] + WAVE_M, WAVE_M)
        b = np.arange(0.0, float(when.max(initial=1.0)) + WAVE_S, WAVE_S)
        count = np.histogram2d(when, along[there], (b, a))[0]
        run = recording.speed_m_s[there].astype(float)
        speed = np.histogram2d(when, along[there], (b, a), weights=run)[0]
        width = np.interp((a[:-1] + a[1:]) / 2, strip.station_m, strip.width_m)
        frames = WAVE_S / float(np.median(np.diff(times)))
        with np.errstate(invalid="ignore", divide="ignore"):
            return a, b, count / frames / (width * WAVE_M), speed / count

    @property
    def _unit(self) -> tuple[float, str]:
        return (METRES_A_YARD, "yards") if self.units == "us" else (1.0, "metres")

    def figure(self) -> Figure:
        """The page, A4 landscape."""
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        figure = Figure(figsize=PAGE_INCH, dpi=150)
        FigureCanvasAgg(figure)
        grid = figure.add_gridspec(
            2, 2, left=0.055, right=0.985, top=0.87, bottom=0.07, height_ratios=(1.0, 0.95),
            width_ratios=(1.25, 1.0), hspace=0.36, wspace=0.13,
        )  # fmt: skip
        self._lines(figure.add_subplot(grid[0, :]))
        self._boxes(figure, grid[1, 0])
        waves = grid[1, 1].subgridspec(2, 1, hspace=0.5)
        self._wave(figure, waves[0], "runners a square metre", 0)
        self._wave(figure, waves[1], f"pace, minutes a {'mile' if self.units == 'us' else 'km'}", 1)
        race = self.losing.recording
        whose = self.whom.label if self.whom.who.any() else "everybody"
        title = f"{race.scenario.name}, seed {race.seed}: where {whose} lost time"
        figure.text(0.055, 0.955, title, fontsize=14, weight="bold", parse_math=False)
        return figure

    def _lines(self, axes: Axes) -> None:
        unit_m, unit = self._unit
        rows = np.flatnonzero(self.whom.who)
        for i in rows:
            axes.plot(
                self.places_m / unit_m, self.lost_s[i], color=chart_ink("ours"), linewidth=1.6
            )
        known = np.isfinite(self.lost_s)
        everybody = np.where(known, self.lost_s, 0).sum(axis=0) / np.maximum(known.sum(axis=0), 1)
        axes.plot(
            self.places_m / unit_m,
            everybody,
            color=chart_ink("muted"),
            linestyle="--",
            linewidth=1.4,
        )
        self._names_at_the_end(axes, rows, everybody)
        axes.set_xlim(0, self.places_m[-1] / unit_m * 1.17)
        axes.set_ylabel("seconds lost so far")
        axes.set_xlabel(f"{unit} from the line")
        axes.grid(axis="y", color=chart_ink("rule"), linewidth=0.6)
        axes.spines[["top", "right"]].set_visible(False)
        self._marks(axes)

    def _names_at_the_end(self, axes: Axes, rows: Any, everybody: Array) -> None:
        """Each name beside the end of its line, pushed apart where ends lie close."""
        unit_m, _ = self._unit
        names = [(float(self.lost_s[i, -1]), self.losing.recording.roster.name[i]) for i in rows]
        names = [(lost, name) for lost, name in names if lost == lost]
        names.append((float(everybody[-1]), "mean of the field"))
        low, high = axes.get_ylim()
        apart, at = (high - low) * 0.062, -np.inf
        for lost, name in sorted(names):
            at = max(lost, at + apart)
            ink = chart_ink("muted" if name == "mean of the field" else "ours")
            axes.text(
                self.places_m[-1] / unit_m * 1.008, at, f"{name} {lost:+.1f} s", fontsize=8, color=ink,
                va="center", parse_math=False,
            )  # fmt: skip

    def _marks(self, axes: Axes) -> None:
        """The named places above the lines; where two are close only one is named."""
        unit_m, _ = self._unit
        strip, taken = self.losing.recording.strip, list[float]()
        marks = [(mark.name, mark.station_m) for mark in strip.checkpoints]
        marks += [(gate.name, float(strip.station_m[gate.first_cut])) for gate in strip.gates]
        marks += [(mark.name, mark.station_m) for mark in strip.landmarks]
        for name, at in marks:
            if at > self.places_m[-1] + 1:
                continue
            axes.axvline(at / unit_m, color=chart_ink("rule"), linewidth=0.8, zorder=0)
            if all(abs(at - old) >= LEAST_APART_SHARE * self.places_m[-1] for old in taken):
                taken.append(at)
                axes.text(
                    at / unit_m, 1.01, name, rotation=28, fontsize=8, ha="left", va="bottom",
                    transform=axes.get_xaxis_transform(), parse_math=False,
                )  # fmt: skip

    def _boxes(self, figure: Figure, cell: Any) -> None:
        """A small picture a box: the mean of who stands there, over the means of all boxes."""
        box = self.losing.recording.roster.box
        numbers = np.unique(box)[:MOST_BOXES]
        ours = set(box[self.whom.who].tolist())
        columns = min(BOX_COLUMNS, len(numbers))
        rows = -(-len(numbers) // columns)
        inner = cell.subgridspec(rows, columns, hspace=0.12, wspace=0.08)
        means = [np.array(_means(self.lost_s[box == number])) for number in numbers]
        top = max(1.0, max(float(np.nanmax(mean, initial=0.0)) for mean in means) * 1.05)
        for k, (number, mean) in enumerate(zip(numbers, means, strict=True)):
            axes = figure.add_subplot(inner[k // columns, k % columns])
            for other in means:
                axes.plot(self.places_m, other, color=chart_ink("rule"), linewidth=0.5)
            mine = number in ours
            axes.plot(
                self.places_m, mean, color=chart_ink("ours" if mine else "text"), linewidth=1.6
            )
            axes.text(
                0.06, 0.93, str(number), transform=axes.transAxes, va="top", fontsize=8,
                weight="bold" if mine else "normal", color=chart_ink("ours" if mine else "text"),
            )  # fmt: skip
            axes.set(ylim=(min(0.0, float(np.nanmin(mean, initial=0.0))), top), xticks=[])
            axes.tick_params(axis="y", labelsize=7, labelleft=k % columns == 0)
            axes.spines[["top", "right"]].set_visible(False)
            if k == 0:
                words = "mean seconds lost, box by box, from the line to the last mark"
                axes.set_title(words, loc="left", fontsize=9)

    def _wave(self, figure: Figure, cell: Any, words: str, which: int) -> None:
        """Place to the right, later runners higher up: a queue is a patch where it is close and slow."""
        unit_m, unit = self._unit
        axes = figure.add_subplot(cell)
        along, seconds, *values = self.waves
        shown = np.where(values[0] > 0, values[which], np.nan)
        colours = COLOUR_MAP if which == 0 else f"{COLOUR_MAP}_r"
        mesh = axes.pcolormesh(along / unit_m, seconds, shown, cmap=colours, rasterized=True)
        bar = figure.colorbar(mesh, ax=axes, pad=0.015, fraction=0.05)
        bar.ax.tick_params(labelsize=7)
        if which:
            speeds, paces = _pace_ticks(*mesh.get_clim(), self.units)
            bar.set_ticks(list(speeds), labels=paces)
        axes.set_title(words, loc="left", fontsize=9)
        axes.set_ylabel("s after the first", fontsize=8)
        axes.tick_params(labelsize=7)
        if which:
            axes.set_xlabel(f"{unit} from the line", fontsize=8)


def _pace_ticks(slow_m_s: float, fast_m_s: float, units: str) -> tuple[Array, list[str]]:
    """Where on a scale of speeds, and with which words, stand the whole minutes and half minutes of pace?"""
    unit_m = METRES_A_MILE if units == "us" else 1000.0
    paces = np.array([150, 180, 210, 240, 270, 300, 360, 420, 480, 600, 900], dtype=float)
    kept: list[float] = []
    for pace in paces:
        speed, apart = unit_m / pace, (fast_m_s - slow_m_s) / MOST_TICKS
        if slow_m_s <= speed <= fast_m_s and (not kept or unit_m / kept[-1] - speed >= apart):
            kept.append(pace)
    return unit_m / np.array(kept), [f"{pace // 60:.0f}:{pace % 60:02.0f}" for pace in kept]


def _means(values: Array) -> Array:
    """The mean of each column of those that are known, nan where none is."""
    known = np.isfinite(values)
    count = known.sum(axis=0)
    with np.errstate(invalid="ignore"):
        return np.asarray(np.where(known, values, 0).sum(axis=0) / np.where(count, count, np.nan))


def write_where_lost(losing: Losing, whom: Followed, units: str, path: Path) -> Path:
    """The page as a PNG. Raises CannotWrite. Check: tests/unit/pictures/test_where_lost.py."""
    figure = WhereLost(losing, whom, units).figure()
    with written_beside(path) as beside:
        figure.savefig(beside, format="png", metadata={"Software": None})
    return path
