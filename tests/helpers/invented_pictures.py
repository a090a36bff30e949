"""The invented pictures of the fen's course, drawn by code as somebody stands on it and looks along it.

    python -m tests.helpers.invented_pictures scenarios

Nothing in them is a place that exists: ground and edges are those of the scenario, the rest is painted.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from simrun.course.strip import Strip
from simrun.scenario.reader import read

SCENARIOS = Path(__file__).parents[2] / "scenarios"
WIDE, HIGH, TWICE = 960, 640, 2
EYE_M, HORIZON, LENS = 1.6, 0.46, 0.75
QUALITY = 72

Ink = tuple[int, int, int]
SKY, HAZE, GRASS, COURSE = (150, 184, 214), (214, 224, 226), (112, 138, 74), (150, 160, 98)
LEAF, BARK, BRICK, STONE, CLOTH = (
    (66, 92, 48),
    (84, 66, 50),
    (148, 84, 66),
    (136, 132, 122),
    (236, 232, 220),
)


class Scene:
    """One picture: a place to stand, a way to look, and what is painted, the farthest first."""

    def __init__(self, strip: Strip, at_m: float, look_m: float, turned_deg: float = 0.0) -> None:
        self.strip = strip
        self.random = np.random.default_rng(round(10 * at_m))
        here, there = (np.array(strip.point_at(at)) for at in (at_m, look_m))
        way = math.atan2(*(there - here)[::-1]) + math.radians(turned_deg)
        self.here, self.ahead = here, np.array([math.cos(way), math.sin(way)])
        self.image = Image.new("RGB", (WIDE * TWICE, HIGH * TWICE), GRASS)
        self.draw = ImageDraw.Draw(self.image)
        self._sky()
        self._grass()
        self._course(at_m)

    def spot(self, right_m: float, ahead_m: float, up_m: float = 0.0) -> tuple[float, float]:
        """From metres to the right, ahead and up to a pixel."""
        scale = LENS * WIDE * TWICE / max(ahead_m, 0.4)
        return WIDE * TWICE / 2 + right_m * scale, HORIZON * HIGH * TWICE + (EYE_M - up_m) * scale

    def seen(self, point: np.ndarray) -> tuple[float, float]:
        """From a place of the course to metres to the right and ahead."""
        away = point - self.here
        return float(away[0] * self.ahead[1] - away[1] * self.ahead[0]), float(away @ self.ahead)

    def _sky(self) -> None:
        top = int(HORIZON * HIGH * TWICE)
        for y in range(top):
            share = (y / top) ** 1.6
            ink = tuple(round(a + share * (b - a)) for a, b in zip(SKY, HAZE, strict=True))
            self.draw.line([(0, y), (WIDE * TWICE, y)], fill=ink)  # type: ignore[arg-type]
        # Trees far away, as a line that never quite repeats.
        x = np.arange(WIDE * TWICE)
        tall = 14 + sum(
            9 * np.sin(x / w + self.random.uniform(0, 6)) / k
            for k, w in ((1, 97), (2, 31), (3, 11))
        )
        for column, high in enumerate(tall):
            self.draw.line([(column, top - high), (column, top)], fill=(122, 142, 128))

    def _grass(self) -> None:
        """Tufts, smaller and paler the farther off."""
        for _ in range(9000):
            ahead = 1.5 * math.exp(self.random.uniform(0, 4.2))
            right = self.random.uniform(-1, 1) * (4 + 0.75 * ahead)
            x, y = self.spot(right, ahead)
            tall, shade = 60 / ahead, self.random.uniform(-16, 16)
            ink = tuple(int(c + shade + min(40.0, ahead / 2)) for c in GRASS)
            self.draw.line([(x, y), (x + self.random.uniform(-2, 2), y - tall)], fill=ink, width=2)  # type: ignore[arg-type]

    def _course(self, at_m: float) -> None:
        """The trodden ground as far as it is seen, and posts with a line of tape along both edges."""
        strip = self.strip
        stations = np.concatenate(
            [
                np.arange(at_m + 0.8, at_m + 12, 0.4),
                np.arange(at_m + 12, min(at_m + 150, strip.length_m), 1.5),
            ]
        )
        for one, other in pairwise(stations):
            corners = [(one, 0.0), (other, 0.0), (other, 1.0), (one, 1.0)]
            points = [self.seen(np.array(strip.point_at(at, share))) for at, share in corners]
            if all(ahead > 0.5 for _, ahead in points):
                self.draw.polygon([self.spot(*point) for point in points], fill=COURSE)
        for share in (0.0, 1.0):
            for at in np.arange(math.ceil(at_m / 6) * 6 + 3, min(at_m + 90, strip.length_m), 6.0):
                right, ahead = self.seen(np.array(strip.point_at(float(at), share)))
                if ahead > 1.5:
                    self.post(right, ahead)

    def post(self, right: float, ahead: float) -> None:
        """A thin post with a red top."""
        width = max(1, round(50 / ahead))
        self.draw.line(
            [self.spot(right, ahead), self.spot(right, ahead, 1.1)],
            fill=(120, 100, 80),
            width=width,
        )
        self.draw.line(
            [self.spot(right, ahead, 0.95), self.spot(right, ahead, 1.1)],
            fill=(178, 62, 48),
            width=width + 1,
        )

    def blob(
        self, right: float, ahead: float, up: float, size: float, ink: Ink, leaves: int = 90
    ) -> None:
        """A round of leaves."""
        for _ in range(leaves):
            angle, far = (
                self.random.uniform(0, 2 * math.pi),
                size * math.sqrt(self.random.uniform(0, 1)),
            )
            x, y = self.spot(right + far * math.cos(angle), ahead, up + 0.8 * far * math.sin(angle))
            radius = 0.16 * size * LENS * WIDE * TWICE / ahead
            shade = 26 * math.sin(angle) + self.random.uniform(-12, 12)
            self.draw.ellipse(
                [x - radius, y - radius, x + radius, y + radius],
                fill=tuple(max(0, int(c + shade)) for c in ink),
            )  # type: ignore[arg-type]

    def stem(
        self,
        right: float,
        ahead: float,
        low: float,
        high: float,
        wide: float,
        ink: Ink = BARK,
        lean: float = 0.0,
    ) -> None:
        """A trunk, narrower at its top."""
        points = [
            (right - wide / 2, low),
            (right + wide / 2, low),
            (right + lean + wide / 3, high),
            (right + lean - wide / 3, high),
        ]
        self.draw.polygon([self.spot(x, ahead, up) for x, up in points], fill=ink)

    def wall(self, corners: list[tuple[float, float]], high: float, ink: Ink) -> None:
        """A wall along corners (right, ahead), with its courses of stones."""
        for (a, b), (c, d) in pairwise(corners):
            face = [self.spot(a, b), self.spot(c, d), self.spot(c, d, high), self.spot(a, b, high)]
            shade = 0.82 if abs(a - c) < abs(b - d) else 1.0
            self.draw.polygon(face, fill=tuple(int(shade * part) for part in ink))  # type: ignore[arg-type]
            for up in np.arange(0.3, high, 0.3):
                dark = tuple(int(0.86 * shade * part) for part in ink)
                self.draw.line([self.spot(a, b, up), self.spot(c, d, up)], fill=dark, width=2)  # type: ignore[arg-type]

    def write(self, path: Path) -> None:
        """Soft edges, a little grain, and no word in the file."""
        small = self.image.resize((WIDE, HIGH), Image.Resampling.LANCZOS).filter(ImageFilter.SMOOTH)
        small.save(path, "JPEG", quality=QUALITY, optimize=True)


def hedge(scene: Scene, ahead: float, spans: list[tuple[float, float]], high: float = 2.2) -> None:
    """A hedge across the view, with gaps."""
    for low, top in spans:
        for right in np.arange(low, top, 1.1):
            scene.blob(float(right), ahead, high / 2, high / 1.7, LEAF)


def elm(scene: Scene, right: float, ahead: float) -> None:
    """A dead tree: a trunk and bare boughs."""
    scene.stem(right, ahead, 0, 9, 1.0, (104, 94, 84))
    for up, lean, high in ((4.5, -2.6, 8.5), (5.5, 2.4, 9.6), (7, -1.6, 11), (7.5, 1.2, 12)):
        scene.draw.line(
            [scene.spot(right, ahead, up), scene.spot(right + lean, ahead, high)],
            fill=(104, 94, 84),
            width=round(620 / ahead),
        )


def line(strip: Strip) -> Scene:
    scene = Scene(strip, 2.0, 175.0)
    hedge(scene, 62, [(-48, -3), (3, 48)], 3.2)
    elm(scene, 5.5, 58)
    return scene


def hedge_gap(strip: Strip) -> Scene:
    scene = Scene(strip, 158.0, 175.0)
    hedge(scene, 17, [(-16, -2.6), (2.8, 16)])
    for right in (-2.4, 2.4):
        for up in (0.3, 0.6, 0.9):
            scene.draw.line(
                [scene.spot(right - 0.9, 16.5, up), scene.spot(right + 0.9, 16.5, up)],
                fill=(168, 158, 140),
                width=9,
            )
    return scene


def pump_corner(strip: Strip) -> Scene:
    scene = Scene(strip, 255.0, 268.0)
    scene.wall([(11, 17), (2.6, 17), (2.6, 27)], 3.4, BRICK)
    roof = [
        scene.spot(2.2, 17, 3.4),
        scene.spot(11, 17, 3.4),
        scene.spot(9.4, 20, 5.2),
        scene.spot(3.6, 20, 5.2),
    ]
    scene.draw.polygon(roof, fill=(92, 72, 70))
    for _ in range(70):
        x, y = scene.spot(scene.random.uniform(-4.5, -1), scene.random.uniform(9, 20))
        scene.draw.ellipse([x, y, x + 9, y + 6], fill=STONE)
    return scene


def three_willows(strip: Strip) -> Scene:
    scene = Scene(strip, 540.0, 570.0)
    for right, ahead, lean in ((-4.6, 34, 0.0), (-7.4, 24, 0.5), (-9.2, 18, -0.2)):
        scene.stem(right, ahead, 0, 2.6, 0.9, BARK, lean)
        if ahead == 24:
            scene.stem(right + 0.3, ahead, 0.4, 3.0, 0.4, (52, 42, 34), 0.6)
        for k in range(5):
            scene.blob(
                right + lean + 0.8 * (k - 2), ahead, 3.6 + 0.5 * (k % 2), 1.5, (104, 122, 72), 60
            )
    return scene


def cattle_trough(strip: Strip) -> Scene:
    scene = Scene(strip, 708.0, 730.0, -8.0)
    scene.wall([(2.6, 12), (6.2, 13), (6.2, 15)], 0.75, STONE)
    scene.draw.polygon(
        [
            scene.spot(2.8, 12.2, 0.74),
            scene.spot(6, 13.1, 0.74),
            scene.spot(6, 14.6, 0.74),
            scene.spot(3, 13.7, 0.74),
        ],
        fill=(120, 142, 150),
    )
    for right, ahead, ink in (
        (7.6, 15, (70, 84, 128)),
        (8.5, 14, (160, 76, 70)),
        (9.4, 15.5, CLOTH),
        (10.4, 14.5, (86, 120, 98)),
    ):
        scene.stem(right, ahead, 0, 1.35, 0.55, ink)
        x, y = scene.spot(right, ahead, 1.58)
        radius = 0.16 * LENS * WIDE * TWICE / ahead
        scene.draw.ellipse([x - radius, y - radius, x + radius, y + radius], fill=(196, 156, 126))
    return scene


PICTURES: tuple[Callable[[Strip], Scene], ...] = (
    line,
    hedge_gap,
    pump_corner,
    three_willows,
    cattle_trough,
)


def write_all(folder: Path) -> list[Path]:
    """Every picture into this folder."""
    strip = read(SCENARIOS / "brindle_fen.toml").strip
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for picture in PICTURES:
        paths.append(folder / f"brindle_fen_{picture.__name__}.jpg")
        picture(strip).write(paths[-1])
    return paths


if __name__ == "__main__":
    print("\n".join(str(path) for path in write_all(Path(sys.argv[1]))))
