"""The invented clip of the fen's pump corner: six seconds of running up to it, drawn frame by frame by code.

    python -m tests.helpers.invented_clip scenarios

The same painted ground, posts and pump house as in the invented picture: nothing in it is a place that
exists.
"""

from __future__ import annotations

import math
import sys
from functools import cache
from pathlib import Path

import numpy as np
from PIL import Image

from simrun.course.strip import Strip
from simrun.scenario.reader import read
from tests.helpers.invented_pictures import (
    BRICK,
    GRASS,
    HAZE,
    HIGH,
    HORIZON,
    LENS,
    SCENARIOS,
    SKY,
    STONE,
    TWICE,
    WIDE,
    Scene,
)

NAME = "brindle_fen_pump_corner.mp4"
SIZE = (640, 426)
FRAMES_S, LASTS_S = 12, 6.0
FROM_M, PACE_M_S, LOOK_M = 242.0, 4.0, 268.0
DRAWN_AT_M = 255.0
"""From here the pump house of the invented picture is seen; its corners are told from there."""

TURNS_S, TURNED_DEG = 2.5, 24.0
"""So long before the end the head begins to turn to the way behind the corner, and so far."""

WALL = ((11.0, 17.0), (2.6, 17.0), (2.6, 27.0))
ROOF = ((2.2, 17.0, 3.4), (11.0, 17.0, 3.4), (9.4, 20.0, 5.2), (3.6, 20.0, 5.2))
TUFTS, STONES = 9000, 70


class Frame(Scene):
    """One moment of the way: grass, stones and trees stay where they are while the eye comes on."""

    def _sky(self) -> None:
        top, wide = int(HORIZON * HIGH * TWICE), WIDE * TWICE
        for y in range(top):
            share = (y / top) ** 1.6
            ink = tuple(round(a + share * (b - a)) for a, b in zip(SKY, HAZE, strict=True))
            self.draw.line([(0, y), (wide, y)], fill=ink)
        heading = math.atan2(self.ahead[1], self.ahead[0])
        x = np.arange(wide) - heading * LENS * wide
        waves = [9 * np.sin(x / w + k) / k for k, w in ((1, 97), (2, 31), (3, 11))]
        for column, high in enumerate(14 + np.sum(waves, axis=0)):
            self.draw.line([(column, top - high), (column, top)], fill=(122, 142, 128))

    def _grass(self) -> None:
        for (x, y), shade, lean in grown():
            right, ahead = self.seen(np.array([x, y]))
            if not 1.5 < ahead < 90 or abs(right) > 4 + 0.75 * ahead:
                continue
            foot = self.spot(right, ahead)
            ink = tuple(int(c + shade + min(40.0, ahead / 2)) for c in GRASS)
            self.draw.line([foot, (foot[0] + lean, foot[1] - 170 / ahead)], fill=ink, width=3)

    def house(self, first: Scene, stones: list[tuple[float, float]]) -> None:
        """The pump house and the stones, at the places that the picture has them."""
        across = np.array([first.ahead[1], -first.ahead[0]])

        def here(right: float, ahead: float) -> tuple[float, float]:
            return self.seen(first.here + right * across + ahead * first.ahead)

        self.wall([here(*corner) for corner in WALL], 3.4, BRICK)
        roof = [self.spot(*here(right, ahead), up) for right, ahead, up in ROOF]
        self.draw.polygon(roof, fill=(92, 72, 70))
        for stone in stones:
            right, ahead = here(*stone)
            if ahead > 1.0:
                x, y = self.spot(right, ahead)
                size = 90 / ahead
                self.draw.ellipse([x, y, x + size, y + 0.7 * size], fill=STONE)


@cache
def course() -> Strip:
    """The ground of the fen."""
    return read(SCENARIOS / "brindle_fen.toml").strip


@cache
def picture() -> Scene:
    """The place from which the picture was drawn."""
    return Scene(course(), DRAWN_AT_M, LOOK_M)


@cache
def grown() -> list[tuple[tuple[float, float], float, float]]:
    """Where every tuft grows, how bright it is, how it leans."""
    random = np.random.default_rng(7)
    middle = np.array(course().point_at(LOOK_M - 4))
    away = 60 * np.sqrt(random.uniform(0, 1, TUFTS))
    angle = random.uniform(0, 2 * math.pi, TUFTS)
    spots = middle + np.stack([away * np.cos(angle), away * np.sin(angle)], axis=1)
    shades, leans = random.uniform(-16, 16, TUFTS), random.uniform(-2, 2, TUFTS)
    return [
        ((float(x), float(y)), float(shade), float(lean))
        for (x, y), shade, lean in zip(spots, shades, leans, strict=True)
    ]


def frame(t_s: float) -> Image.Image:
    """What is seen at a second of the clip."""
    random = np.random.default_rng(3)
    stones = [(random.uniform(-4.5, -1), random.uniform(9, 20)) for _ in range(STONES)]
    share = min(1.0, max(0.0, (t_s - LASTS_S + TURNS_S) / TURNS_S))
    turned = -TURNED_DEG * share * share * (3 - 2 * share)
    one = Frame(course(), FROM_M + PACE_M_S * t_s, LOOK_M, turned)
    one.house(picture(), stones)
    return one.image.resize(SIZE, Image.Resampling.LANCZOS)


def write(path: Path) -> Path:
    """The clip as an MP4 with no word in it."""
    import imageio_ffmpeg

    bare = ["-map_metadata", "-1", "-fflags", "+bitexact", "-flags:v", "+bitexact"]
    film = imageio_ffmpeg.write_frames(
        path,
        SIZE,
        fps=FRAMES_S,
        codec="libx264",
        quality=None,
        macro_block_size=2,
        output_params=[*bare, "-crf", "29", "-preset", "veryslow", "-movflags", "+faststart"],
    )
    film.send(None)
    for k in range(round(LASTS_S * FRAMES_S)):
        film.send(np.asarray(frame(k / FRAMES_S)).tobytes())
    film.close()
    return path


if __name__ == "__main__":
    print(write(Path(sys.argv[1]) / NAME))
