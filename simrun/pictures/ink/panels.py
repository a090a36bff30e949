"""Where on the picture lie the title, the map and the legend?"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Layout:
    """Pixels: a title strip on top, the map, a legend strip at the bottom; type grows with the size.

    maps: one, or two side by side, each under its own name. type_scale: how much larger than usual the
    type is; None = as much as the picture. rows: how many runners the ledger has, 0 = there is none: at the
    right of the map, and under it in an upright picture. ribbon: is the course unrolled under the map? gap:
    is there, under two maps, what either plan has lost and how far they are apart?
    """

    width_px: int
    height_px: int
    maps: int = 1
    type_scale: float | None = None
    rows: int = 0
    ribbon: bool = False
    gap: bool = False

    @property
    def scale(self) -> float:
        """How much larger than the usual 800 x 450 is everything? Upright, on a phone, still larger."""
        if self.upright:
            return self.type_scale or self.width_px / 450
        return self.type_scale or min(self.width_px / 800, self.height_px / 450)

    def px(self, usual: float) -> int:
        """A length of the usual picture, in pixels of this one."""
        return max(1, round(usual * self.scale))

    @property
    def top_px(self) -> int:
        """How high is the title strip?"""
        return self.px(42) + self.names_px

    @property
    def names_px(self) -> int:
        """How high is the row that names the maps, where there are two?"""
        return self.px(24) if self.maps > 1 else 0

    @property
    def between_px(self) -> int:
        """How wide is the bar between two maps?"""
        return self.px(4)

    @property
    def map_width_px(self) -> int:
        """How wide is each map?"""
        room = self.width_px - self.side_px - (self.maps - 1) * self.between_px
        return room // self.maps

    @property
    def upright(self) -> bool:
        """Is the picture higher than wide, as a phone is held?"""
        return self.height_px > self.width_px

    @property
    def side_px(self) -> int:
        """How wide is the ledger beside the map?"""
        return self.px(178) if self.rows and not self.upright else 0

    @property
    def under_px(self) -> int:
        """How high is the ledger under the map of an upright picture, or under the maps of two plans?"""
        if self.gap:
            return self.px(70)
        return self.px(78 + 17 * self.rows) if self.rows and self.upright else 0

    @property
    def ribbon_px(self) -> int:
        """How high is the unrolled course?"""
        return self.px(88) if self.ribbon else 0

    @property
    def bottom_px(self) -> int:
        """How high is the legend strip?"""
        return self.px(52 + (self.legend_rows - 2) * 22)

    @property
    def legend_rows(self) -> int:
        """How many rows has the legend? A film held upright is too narrow for two."""
        return 4 if self.upright and self.type_scale is None else 2

    @property
    def map_height_px(self) -> int:
        """How high is the map between the strips?"""
        taken = self.top_px + self.bottom_px + self.ribbon_px + self.under_px
        return self.height_px - taken
