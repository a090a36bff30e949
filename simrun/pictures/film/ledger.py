"""The ledger of a film: what every one of ours has lost so far, growing, split by what it was lost to."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.ink.colours import PART_INKS, Indices, ink
from simrun.pictures.ink.lettering import clipped, lettered, plain, width_px
from simrun.pictures.ink.panels import Layout
from simrun.pictures.ink.stamps import LOSING, put_levels
from simrun.pictures.story.losing import PARTS, Losing
from simrun.pictures.story.plans_apart import Gap
from simrun.state.recording import Recording

Array = NDArray[np.float64]

FLASH_FRAMES = 6
"""A row lights up for so many frames when a whole second went."""

MOST_ROWS = 10

NAMES_SHARE = 0.36
"""So much of a wide ledger is for names."""

LEVEL_S, LEAST_STEP_S = 0.05, 0.2
"""A gap below this is none (it would be printed as 0.0); so large a step is at least a whole bar."""


def rows_of(who: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Which runners have a row? The first of those followed."""
    return np.flatnonzero(who)[:MOST_ROWS]


def row_name(recording: Recording, runners: NDArray[np.int64], row: int) -> str:
    """The name of a row, behind the number that its dot bears; one row needs none."""
    name = plain(recording.roster.name[runners[row]])
    return f"{row + 1} {name}" if len(runners) > 1 else name


@dataclass(frozen=True)
class Ledger:
    """Draws the ledger of any drawn moment. runners (M,): whose rows; t_s (F,): the drawn moments."""

    losing: Losing
    runners: NDArray[np.int64]
    t_s: Array
    layout: Layout

    @cached_property
    def parts_s(self) -> Array:
        """Seconds lost so far, (4, F, M), as of PARTS."""
        return np.nan_to_num(self.losing.parts_s(self.t_s)[:, :, self.runners])

    @cached_property
    def _levels(self) -> NDArray[np.int8]:
        return self.losing.levels(self.t_s)[:, self.runners]

    @cached_property
    def lit(self) -> NDArray[np.bool_]:
        """In which frames does a row light up, since a whole second has just gone? (F, M)"""
        when, whose = self.losing.gone
        found = np.zeros((len(self.t_s), len(self.runners)), dtype=bool)
        for row, runner in enumerate(self.runners):
            frames = np.searchsorted(self.t_s, when[whose == runner] - 1e-9)
            for frame in frames[frames > 0]:
                found[frame : frame + FLASH_FRAMES, row] = True
        return found

    @cached_property
    def _shown(self) -> list[int]:
        """Which parts are told? Racing only where somebody races."""
        return [k for k in range(len(PARTS)) if PARTS[k] != "racing" or self.parts_s[k].any()]

    @cached_property
    def _most_s(self) -> float:
        """How many seconds is the longest bar?"""
        return max(1.0, float(np.maximum(self.parts_s, 0).sum(axis=0).max(initial=0.0)))

    def picture(self, frame: int, width_px: int, height_px: int) -> Indices:
        """The ledger of one drawn moment, palette entries (H, W)."""
        picture = np.full((height_px, width_px), ink("paper"), dtype=np.uint8)
        px = self.layout.px
        self.text(picture, "seconds lost", px(8), px(5), 12, "text", True)
        self._legend(picture, px(8), px(22))
        high = min(px(34), (height_px - px(76)) // max(1, len(self.runners)))
        for row in range(len(self.runners)):
            self._row(picture, frame, row, px(40) + row * high, high)
        mean = self.parts_s[:, frame].sum(axis=0).mean()
        foot = px(44) + len(self.runners) * high
        if foot + px(16) < height_px:
            self.text(picture, f"mean {mean:+.1f} s", px(8), foot, 12, "text", True)
        return picture

    @cached_property
    def most_mean_s(self) -> float:
        """How much do they lose at most, in the mean of them?"""
        lost = np.maximum(self.parts_s, 0).sum(axis=0).mean(axis=1)
        return max(1.0, float(lost.max(initial=0.0)))

    def mean_row(
        self, picture: Indices, frame: int, where: tuple[int, int], width_px: int, most_s: float
    ) -> None:
        """In one line what they have lost in the mean, and a bar of its parts, at most most_s long."""
        (left, top), px = where, self.layout.px
        mean = self.parts_s[:, frame].mean(axis=1)
        end = self.text(picture, f"{mean.sum():+.1f} s lost", left, top, 12, "text", True)
        begin, until = max(end + px(8), left + px(86)), left + width_px - px(22)
        self._bar(picture, np.asarray(mean), (begin, top + px(4), until, px(9)), most_s)

    def _row(self, picture: Indices, frame: int, row: int, top: int, high: int) -> None:
        """Name, seconds, and under them the bar; one line where there is little room."""
        px, wide = self.layout.px, picture.shape[1]
        flat = high < px(26)
        level = int(self._levels[frame, row])
        if self.lit[frame, row]:
            picture[top : top + high - px(2), px(3) : wide - px(3)] = ink("followed")
        if level:
            picture[top : top + high - px(3), px(2) : px(6)] = ink(LOSING[level])
        total = float(self.parts_s[:, frame, row].sum())
        words, size = f"{total:+.1f}", px(11)
        right = wide - px(8) - width_px(words, size, True)
        self.text(picture, words, right, top, 11, "text", True)
        name = row_name(self.losing.recording, self.runners, row)
        names = max(px(86), round(NAMES_SHARE * wide))
        room = (names if flat else right - px(16)) - px(4)
        self.text(picture, clipped(name, size, room), px(9), top, 11, "text", False)
        left, end = (names + px(14), right - px(8)) if flat else (px(9), wide - px(8))
        where = (left, top + (px(4) if flat else px(16)), end, px(7))
        self._bar(picture, self.parts_s[:, frame, row], where, self._most_s)

    def _bar(
        self, picture: Indices, parts_s: Array, where: tuple[int, int, int, int], most_s: float
    ) -> None:
        left, top, end, high = where
        picture[top + high : top + high + 1, left:end] = ink("rule")
        column = float(left)
        for k in self._shown:
            further = column + max(0.0, float(parts_s[k])) / most_s * (end - left)
            picture[top : top + high, round(column) : round(further)] = ink(PART_INKS[PARTS[k]])
            column = further

    def _legend(self, picture: Indices, left: int, top: int) -> None:
        px = self.layout.px
        for k in self._shown:
            picture[top + px(2) : top + px(10), left : left + px(8)] = ink(PART_INKS[PARTS[k]])
            left = self.text(picture, PARTS[k], left + px(10), top - px(1), 10, "text", False) + px(
                6
            )

    def text(
        self, picture: Indices, text: str, left: int, top: int, size: int, name: str, bold: bool
    ) -> int:
        """Write at a place; the column behind the text."""
        letters = lettered(text, self.layout.px(size), bold)
        put_levels(picture, letters, left, top, name)
        return left + letters.shape[1]


@dataclass(frozen=True)
class PairLedger:
    """What two plans have lost so far, a bar each, and where the one gained on the other.

    ledgers: of either plan. gap: by place. far_m (F,): to where both have come. names: what the plans are
    called.
    """

    ledgers: tuple[Ledger, Ledger]
    gap: Gap
    far_m: Array
    names: tuple[str, str]

    def picture(self, frame: int, width_px: int, height_px: int) -> Indices:
        """The strip of one drawn moment, palette entries (H, W)."""
        picture = np.full((height_px, width_px), ink("paper"), dtype=np.uint8)
        one = self.ledgers[0]
        most = max(ledger.most_mean_s for ledger in self.ledgers)
        for number, ledger in enumerate(self.ledgers):
            left = number * width_px // 2 + one.layout.px(14)
            ledger.mean_row(picture, frame, (left, one.layout.px(3)), width_px // 2, most)
        self._said(picture, frame)
        self._steps(picture, frame)
        return picture

    def _said(self, picture: Indices, frame: int) -> None:
        """Who is ahead, and by how much."""
        one, far = self.ledgers[0], float(self.far_m[frame])
        gap = self.gap.at(far) if far > 0 else 0.0
        px, room = one.layout.px, picture.shape[1] // 2 - one.layout.px(28)
        if not np.isfinite(gap) or abs(gap) < LEVEL_S:
            words = "both plans are level"
        else:
            words = f"{self.names[0 if gap > 0 else 1]}: {abs(gap):.1f} s a runner ahead here"
        one.text(picture, clipped(words, px(12), room, True), px(14), px(26), 12, "text", True)
        rest = "steps: gained (up) or lost (down) by the left plan on the way"
        one.text(picture, clipped(rest, px(10), room), px(14), px(46), 10, "muted", False)

    def _steps(self, picture: Indices, frame: int) -> None:
        """A bar for every STEP_M that both have behind them, on a line as long as the course."""
        px, height, width = self.ledgers[0].layout.px, *picture.shape
        left, right, zero = width // 2 + px(14), width - px(14), (px(24) + height - px(4)) // 2
        half, end = (height - px(4) - px(24)) // 2, self.gap.place_m[-1]
        picture[zero, left:right] = ink("rule")
        steps = np.nan_to_num(self.gap.steps_s)
        most = max(LEAST_STEP_S, float(np.abs(steps).max(initial=0.0)))
        for step, a, b in zip(steps, self.gap.place_m, self.gap.place_m[1:], strict=False):
            if b > self.far_m[frame]:
                break
            high = round(abs(step) / most * half)
            begin, until = (round(left + at / end * (right - left)) for at in (a, b))
            rows = slice(zero - high, zero) if step > 0 else slice(zero + 1, zero + 1 + high)
            picture[rows, begin : max(begin + 1, until - px(1))] = ink("other_plan")
