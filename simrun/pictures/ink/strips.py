"""What stands above and below the map? Title and clock; legend, scale bar, speed and what this is."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from simrun.pictures.ink.colours import Indices, ink
from simrun.pictures.ink.lettering import clipped, lettered, width_px
from simrun.pictures.ink.panels import Layout
from simrun.pictures.ink.stamps import BORDER_PX, look, put_levels, put_runners
from simrun.pictures.ink.view import clock_words, scale_bar

EDGE_PX, ICON_PX, SPACE_PX = 14, 22, 18
LEGEND_PX_M = 12.0
"""The legend shows the runners as they look at this zoom."""

OTHER_PLAN_WORDS = "the other plan"
LOSING_WORDS = ("losing a little", "losing much", "losing very much")
"""What is said of the three levels of losing, one behind the other."""


@dataclass(frozen=True)
class Words:
    """The texts of a picture: what the race is called, whom the legend names, what this is."""

    title: str
    follows: str
    people: tuple[tuple[str, str], ...]
    speed: str
    footer: str
    units: str
    maps: tuple[str, ...] = ()


@dataclass
class Strips:
    """The strips of one race: what stays is drawn once, the clock and the scale bar every time."""

    layout: Layout
    words: Words
    spots: list[tuple[str, int, int, int, int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        shape = (self.layout.height_px, self.layout.width_px)
        self._still = np.full(shape, ink("paper"), dtype=np.uint8)
        top, bottom = self.layout.top_px, self.layout.height_px - self.layout.bottom_px
        self._still[[top - 1, bottom]] = ink("rule")
        self._title()
        self._names()
        last = self.layout.legend_rows - 1
        self._people()
        self._edges(self._row(max(1, last - 1)))
        self._footer(self._row(last))

    def frame(
        self, map_part: Indices, t_s: float, scale_px_m: float, speed: float | None = None
    ) -> Indices:
        """The whole picture around a map, (H, W). speed: said beside the clock where it changes."""
        picture = self._still.copy()
        top, bottom = self.layout.top_px, self.layout.height_px - self.layout.bottom_px
        picture[top:bottom] = map_part
        self._clock(picture, t_s, speed)
        self._scale(picture, scale_px_m)
        return picture

    def legend(self) -> Indices:
        """The strip at the bottom alone, without the scale bar."""
        return self._still[self.layout.height_px - self.layout.bottom_px + 1 :]

    @property
    def type_px(self) -> int:
        """How large is the legend's type?"""
        return self.layout.px(11)

    def _row(self, number: int) -> int:
        """The middle of a row of the legend."""
        top = self.layout.height_px - self.layout.bottom_px
        return top + self.layout.px(15 + 22 * number)

    def _text(
        self,
        text: str,
        left: int,
        middle: int,
        name: str = "text",
        size: int = 0,
        bold: bool = False,
    ) -> int:
        """Write on what stays; gives the column behind the text."""
        size = size or self.type_px
        letters = lettered(text, size, bold)
        top = middle - letters.shape[0] // 2
        put_levels(self._still, letters, left, top, name)
        self.spots.append((text, left, top, left + letters.shape[1], top + letters.shape[0]))
        return left + letters.shape[1]

    def _title(self) -> None:
        size, small = self.layout.px(17), self.type_px
        middle, left = self._title_middle, self.layout.px(EDGE_PX)
        clock = self.layout.px(EDGE_PX + 20) + width_px("88:88.8", self.layout.px(22), True)
        clock += width_px("16 x ", self.layout.px(13))
        room = self.layout.width_px - left - clock
        # An upright picture is narrow; whom it follows stands in the legend.
        told = "" if self.layout.legend_rows > 2 else self.words.follows
        follows = clipped(told, small, room // 3)
        room -= width_px(follows, small) + self.layout.px(SPACE_PX)
        end = self._text(
            clipped(self.words.title, size, room, True), left, middle, "text", size, True
        )
        self._text(follows, end + self.layout.px(SPACE_PX), middle + self.layout.px(2), "muted")

    @property
    def _title_middle(self) -> int:
        return (self.layout.top_px - self.layout.names_px) // 2

    def _names(self) -> None:
        """What the two maps are called, each above its own."""
        step, size = self.layout.map_width_px + self.layout.between_px, self.layout.px(13)
        middle = self.layout.top_px - self.layout.names_px // 2 - self.layout.px(2)
        for number, name in enumerate(self.words.maps):
            left = number * step + self.layout.px(EDGE_PX)
            text = clipped(name, size, step - 2 * self.layout.px(EDGE_PX), True)
            self._text(text, left, middle, "ours_ring", size, True)

    def _people(self) -> None:
        left, room, row = self.layout.px(EDGE_PX), self._name_room(), 0
        for kind, words in self.words.people:
            if self.layout.legend_rows > 2 and kind == "other 1":
                left, row = self.layout.px(EDGE_PX), 1
            middle = self._row(row)
            self._runner(kind, left + self.layout.px(8), middle)
            text = words if kind.startswith("other") else clipped(words, self.type_px, room)
            left = self._text(text, left + self.layout.px(ICON_PX), middle)
            left += self.layout.px(SPACE_PX)
        text = "dots larger than bodies"
        right = self.layout.width_px - self.layout.px(EDGE_PX) - width_px(text, self.type_px)
        if right >= left:
            self._text(text, right, middle, "muted")

    def _name_room(self) -> int:
        """How wide may a name of the legend be, so that all of it finds room?"""
        people, px = self.words.people, self.layout.px
        if self.layout.legend_rows > 2:  # who is losing time stands in a row below
            people = tuple(one for one in people if one[0][-1] not in "123")
        told = [words for kind, words in people if kind.startswith("other")]
        taken = 2 * px(EDGE_PX) + len(people) * px(ICON_PX) + (len(people) - 1) * px(SPACE_PX)
        taken += sum(width_px(words, self.type_px) for words in told)
        names = max(1, len(people) - len(told))
        return min(px(132), max(px(20), (self.layout.width_px - taken) // names - 1))

    def _runner(self, kind: str, column: int, row: int) -> None:
        bordered = np.pad(self._still, BORDER_PX)
        put_runners(
            bordered,
            np.array([[column + 0.5, row + 0.5]]),
            look(kind, LEGEND_PX_M, self.layout.scale),
        )
        self._still = np.ascontiguousarray(bordered[BORDER_PX:-BORDER_PX, BORDER_PX:-BORDER_PX])

    def _edges(self, middle: int) -> None:
        left, px = self.layout.px(EDGE_PX), self.layout.px
        for name, words in (("barrier", "barrier"), ("marked", "marked edge"), ("", "open edge")):
            self._swatch(name, left, middle)
            left = self._text(words, left + px(ICON_PX + 4), middle) + px(SPACE_PX)
        self._edges_end = left

    def _swatch(self, name: str, left: int, middle: int) -> None:
        """A piece of course (below) and ground (above) with their edge between them."""
        px = self.layout.px
        wide, high = px(20), px(6)
        self._still[middle - high : middle, left : left + wide] = ink("ground")
        self._still[middle : middle + high, left : left + wide] = ink("course")
        if name == "barrier":
            self._still[middle - px(1) : middle + px(2), left : left + wide] = ink(name)
        if name == "marked":
            for dash in (px(1), px(8), px(15)):
                self._still[middle - px(1) : middle + px(1), left + dash : left + dash + px(4)] = (
                    ink(name)
                )

    def _footer(self, middle: int) -> None:
        left = (
            self.layout.px(EDGE_PX - SPACE_PX) if self.layout.legend_rows > 2 else self._edges_end
        )
        if self.layout.legend_rows == 2:
            left = self._text(self.words.speed, left + self.layout.px(4), middle, "muted")
        room = self.layout.width_px - left - self.layout.px(EDGE_PX + SPACE_PX + 160)
        text = clipped(self.words.footer, self.type_px, room) if room > self.layout.px(60) else ""
        self._text(text, left + self.layout.px(SPACE_PX), middle, "muted")

    def _clock(self, picture: Indices, t_s: float, speed: float | None) -> None:
        """Digits are equally wide, so the clock stands still; the speed-up before it."""
        size = self.layout.px(22)
        letters = np.hstack([lettered(sign, size, True) for sign in clock_words(t_s)])
        left = self.layout.width_px - self.layout.px(EDGE_PX) - letters.shape[1]
        put_levels(picture, letters, left, self._title_middle - letters.shape[0] // 2, "text")
        if speed is not None:
            small = lettered(f"{speed:.0f} x", self.layout.px(13))
            beside = left - self.layout.px(8) - small.shape[1]
            put_levels(picture, small, beside, self._title_middle - small.shape[0] // 2, "muted")

    def _scale(self, picture: Indices, scale_px_m: float) -> None:
        px, right = self.layout.px, self.layout.width_px - self.layout.px(EDGE_PX)
        words, length = scale_bar(scale_px_m, px(100), self.words.units)
        row, letters = self._row(self.layout.legend_rows - 1), lettered(words, self.type_px)
        picture[row : row + px(2), right - length : right] = ink("text")
        for end in (right - length, right - px(1)):
            picture[row - px(3) : row + px(5), end : end + px(1)] = ink("text")
        left = right - length - px(6) - letters.shape[1]
        put_levels(picture, letters, left, row - letters.shape[0] // 2, "text")
