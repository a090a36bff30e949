"""What does the moving picture cost? Run by hand: python tests/speed/bench_gif.py

One run over the shipped races: the whole GIF as `simrun race` writes it (script, names, captions, small
picture, ribbon, ledger, legend, file), beside the plain way of a good engineer: one matplotlib figure whose
dots, window and clock are set anew for every frame, drawn and written as a GIF (no names, legend, ledger or
ribbon). It is timed over some of the same frames, a part before and a part after the GIF, so that a machine
that slows down is not taken for a difference. Machines are noisy: read the ratio, not the milliseconds.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

import simrun  # noqa: E402
from simrun.pictures.film.painter import Painter  # noqa: E402
from simrun.state.recording import Recording  # noqa: E402

PLAIN_FRAMES = 30
"""Drawn plainly before the GIF, and as many after it."""


def ours_s(recording: Recording, path: Path) -> float:
    """Seconds for the whole file."""
    begin = time.perf_counter()
    simrun.animate(recording, path)
    return time.perf_counter() - begin


class Plain:
    """One figure of the same window: course, edges, dots, clock."""

    def __init__(self, painter: Painter) -> None:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        strip, self.painter = painter.recording.strip, painter
        figure = Figure(figsize=(8.0, 4.5), dpi=100)
        self.canvas = FigureCanvasAgg(figure)
        self.axes = figure.add_axes((0, 0, 1, 1))
        outline = np.concatenate([strip.left_m, strip.right_m[::-1]])
        self.axes.fill(*outline.T, color="0.95")
        self.axes.plot(*strip.left_m.T, "k-", *strip.right_m.T, "k-")
        self.dots = [self.axes.scatter([], [], s=size) for size in (9, 36)]
        self.clock = self.axes.text(0.9, 0.93, "", transform=self.axes.transAxes)

    def picture(self, frame: int) -> np.ndarray:
        """One frame as (H, W, 3)."""
        painter = self.painter
        place = painter.moments.position_m[frame]
        for dots, who in zip(self.dots, (~painter.ours, painter.ours), strict=True):
            dots.set_offsets(place[who])
        middle = painter.track.middle_m[frame]
        half = np.array([400, 178]) / painter.track.scale_px_m[frame]
        self.axes.set_xlim(middle[0] - half[0], middle[0] + half[0])
        self.axes.set_ylim(middle[1] - half[1], middle[1] + half[1])
        self.clock.set_text(f"{painter.moments.t_s[frame]:.1f} s")
        self.canvas.draw()
        return np.asarray(self.canvas.buffer_rgba())[..., :3].copy()


def plain_s(plain: Plain, frames: np.ndarray) -> tuple[float, float]:
    """Seconds and bytes a frame, drawn and written."""
    import imageio.v3 as imageio

    begin = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plain.gif"
        imageio.imwrite(path, [plain.picture(int(frame)) for frame in frames], duration=100)
        size = path.stat().st_size
    return (time.perf_counter() - begin) / len(frames), size / len(frames)


def main() -> None:
    """Race, draw both ways, one line a race."""
    print("race             runners  frames   frames/s    plain   times       MB   plain MB")
    for name in ("ferry_meadow", "ostrel_common", "dual_meet"):
        recording = simrun.race(simrun.read(ROOT / "scenarios" / f"{name}.toml"), seed=1)
        painter = Painter(recording)
        frames = np.linspace(0, len(painter) - 1, PLAIN_FRAMES).astype(int)
        plainly = Plain(painter)
        plain_s(plainly, frames[:2])
        before, bytes_each = plain_s(plainly, frames)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "race.gif"
            rate = len(painter) / ours_s(recording, path)
            size = path.stat().st_size
        after, _ = plain_s(plainly, frames)
        plain = 2 / (before + after)
        print(
            f"{name:16} {len(recording.roster):7} {len(painter):7} {rate:10.0f} {plain:8.1f} "
            f"{rate / plain:7.1f} {size / 1e6:8.2f} {bytes_each * len(painter) / 1e6:10.1f}"
        )


if __name__ == "__main__":
    main()
