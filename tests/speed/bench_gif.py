"""What does the moving picture cost? Run by hand: python tests/speed/bench_gif.py

One run over the shipped races: the whole GIF as `simrun race` writes it (script, names, captions, small
picture, legend, file), beside the plain way of drawing every frame anew with matplotlib (ground,
runners and clock; no names, no legend), timed over some of the same frames, a part before and a part
after the GIF, so that a machine that slows down is not taken for a difference. The size of the plain way
is that of its PNGs. Machines are noisy: read the ratio, not the milliseconds. Wanted: 10 times or more.
"""

from __future__ import annotations

import io
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

WANTED_TIMES = 10.0


def ours_s(recording: Recording, path: Path) -> float:
    """Seconds for the whole file."""
    begin = time.perf_counter()
    simrun.animate(recording, path)
    return time.perf_counter() - begin


def plain_s(painter: Painter, frames: np.ndarray) -> tuple[float, float]:
    """Seconds and bytes a frame when matplotlib draws and saves each from the start."""
    begin, size = time.perf_counter(), 0
    for frame in frames:
        size += draw_plainly(painter, int(frame))
    return (time.perf_counter() - begin) / len(frames), size / len(frames)


def draw_plainly(painter: Painter, frame: int) -> int:
    """One frame of the same window: course, edges, dots, clock; saved as PNG. Its bytes."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    strip, place = painter.recording.strip, painter.moments.position_m[frame]
    figure = Figure(figsize=(8.0, 4.5), dpi=100)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0, 0, 1, 1))
    outline = np.concatenate([strip.left_m, strip.right_m[::-1]])
    axes.fill(*outline.T, color="0.95")
    axes.plot(*strip.left_m.T, "k-", *strip.right_m.T, "k-")
    axes.scatter(*place[~painter.ours].T, s=9)
    axes.scatter(*place[painter.ours].T, s=36)
    middle, half = painter.track.middle_m[frame], np.array([400, 178])
    half = half / painter.track.scale_px_m[frame]
    axes.set_xlim(middle[0] - half[0], middle[0] + half[0])
    axes.set_ylim(middle[1] - half[1], middle[1] + half[1])
    axes.text(0.9, 0.93, f"{painter.moments.t_s[frame]:.1f} s", transform=axes.transAxes)
    stream = io.BytesIO()
    figure.savefig(stream, format="png")
    return len(stream.getvalue())


def main() -> int:
    """Race, draw both ways, one line a race; 1 where one is not fast enough."""
    slow = False
    print("race             runners  frames   frames/s    plain   times       MB   plain MB")
    for name in ("ferry_meadow", "ostrel_common", "dual_meet"):
        recording = simrun.race(simrun.read(ROOT / "scenarios" / f"{name}.toml"), seed=1)
        painter = Painter(recording)
        frames = np.linspace(0, len(painter) - 1, PLAIN_FRAMES).astype(int)
        plain_s(painter, frames[:2])
        before, bytes_each = plain_s(painter, frames)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "race.gif"
            rate = len(painter) / ours_s(recording, path)
            size = path.stat().st_size
        after, _ = plain_s(painter, frames)
        plain = 2 / (before + after)
        slow |= rate < WANTED_TIMES * plain
        print(
            f"{name:16} {len(recording.roster):7} {len(painter):7} {rate:10.0f} {plain:8.1f} "
            f"{rate / plain:7.1f} {size / 1e6:8.2f} {bytes_each * len(painter) / 1e6:10.1f}"
        )
    return int(slow)


if __name__ == "__main__":
    sys.exit(main())
