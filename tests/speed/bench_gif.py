"""What does the moving picture cost? Run by hand: python tests/speed/bench_gif.py

One run: the first 90 s of a shipped race as a GIF, beside the plain way of drawing every frame anew
with matplotlib (ground, runners and clock; no names, no legend), timed over some of the same frames.
Machines are noisy: read the ratio, not the milliseconds.
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
from simrun.pictures.painter import Painter  # noqa: E402
from simrun.state.recording import Recording  # noqa: E402

PLAIN_FRAMES = 30


def ours_ms(recording: Recording, path: Path) -> float:
    """Milliseconds a frame of the whole file, script of the camera and writing included."""
    begin = time.perf_counter()
    simrun.animate(recording, path)
    return 1000 * (time.perf_counter() - begin) / len(Painter(recording))


def plain_ms(recording: Recording) -> float:
    """Milliseconds a frame when matplotlib draws and saves each from the start."""
    painter = Painter(recording)
    frames = np.linspace(0, len(painter) - 1, PLAIN_FRAMES).astype(int)
    begin = time.perf_counter()
    for frame in frames:
        draw_plainly(recording, painter, int(frame))
    return 1000 * (time.perf_counter() - begin) / PLAIN_FRAMES


def draw_plainly(recording: Recording, painter: Painter, frame: int) -> None:
    """One frame of the same window: course, edges, dots, clock; saved as PNG."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    strip, place = recording.strip, painter.moments.position_m[frame]
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
    figure.savefig(io.BytesIO(), format="png")


def main() -> None:
    """Race, draw both ways, print one line a way."""
    recording = simrun.race(simrun.read(ROOT / "scenarios" / "ferry_meadow.toml"), seed=1)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "race.gif"
        ours_ms(recording, path)
        ours, size = ours_ms(recording, path), path.stat().st_size
    plain = plain_ms(recording)
    print(f"{len(recording.roster)} runners, {len(Painter(recording))} frames, {size / 1e6:.2f} MB")
    print(f"stamped on kept ground: {ours:6.1f} ms a frame, written")
    print(f"drawn anew every frame: {plain:6.1f} ms a frame, {plain / ours:.1f} times as long")


if __name__ == "__main__":
    main()
