"""Where on the picture lie the title, the map and the legend?"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Layout:
    """Pixels: a title strip on top, the map, a legend strip at the bottom; type grows with the size."""

    width_px: int
    height_px: int

    @property
    def scale(self) -> float:
        """How much larger than the usual 800 x 450 is everything?"""
        return min(self.width_px / 800, self.height_px / 450)

    def px(self, usual: float) -> int:
        """A length of the usual picture, in pixels of this one."""
        return max(1, round(usual * self.scale))

    @property
    def top_px(self) -> int:
        """How high is the title strip?"""
        return self.px(42)

    @property
    def bottom_px(self) -> int:
        """How high is the legend strip?"""
        return self.px(52)

    @property
    def map_height_px(self) -> int:
        """How high is the map between the strips?"""
        return self.height_px - self.top_px - self.bottom_px
