"""How long does the replay page take to draw a moment, beside a bare drawing of as many dots?

    python tests/speed/bench_page.py            224 runners, 1920 x 1080; prints milliseconds a frame

Drawn by the browser without a graphics card; 16.7 ms are sixty frames a second. Longest: the longest block of
the page's thread while it plays for some seconds at 1 x.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

import simrun
from simrun.pictures.replay.replay_page import write_page

DAY = Path(__file__).parents[2] / "scenarios" / "ostrel_common.toml"
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
FRAMES, PLAYED_S = 240, 6

DRAWN = """frames => {
    const dots = document.createElement("canvas");
    Object.assign(dots, { width: innerWidth, height: innerHeight });
    const context = dots.getContext("2d"), race = replay.races[0], spot = [0, 0];
    const timed = (draw) => {
        const took = [];
        for (let k = 0; k < frames; k++) {
            const t = (k / frames) * race.last_s, begun = performance.now();
            draw(t);
            took.push(performance.now() - begun);
        }
        took.sort((a, b) => a - b);
        return [took[frames >> 1], took[Math.floor(0.95 * frames)], took[frames - 1]];
    };
    const bare = timed((t) => {
        context.clearRect(0, 0, dots.width, dots.height);
        for (let i = 0; i < race.count; i++) {
            if (!race.at(t, i, spot)) continue;
            context.beginPath();
            context.arc(...replay.map.screen(...spot), 4, 0, 7);
            context.fill();
        }
    });
    replay.state.playing = true;
    const page = timed((t) => { replay.state.t = t; replay.show(); });
    replay.state.playing = false;
    return { bare, page };
}"""

LONGEST = """seconds => new Promise((done) => {
    let longest = 0, frames = 0, going = true;
    new PerformanceObserver((list) => list.getEntries().forEach((entry) => {
        longest = Math.max(longest, entry.duration);
    })).observe({ type: "longtask" });
    const count = () => { frames++; if (going) requestAnimationFrame(count); };
    requestAnimationFrame(count);
    document.getElementById("play").click();
    setTimeout(() => { going = false; done([longest, frames / seconds]); }, 1000 * seconds);
})"""


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as engine:
        path = write_page(simrun.race(simrun.read(DAY), seed=1), Path(folder) / "replay.html")
        browser = engine.chromium.launch(executable_path="/usr/bin/chromium", args=ARGUMENTS)
        page = browser.new_page(viewport={"width": 1920, "height": 1080})
        page.goto(f"{path.as_uri()}#at=150")
        page.wait_for_selector("body[data-ready]")
        found = page.evaluate(DRAWN, FRAMES)
        for name, (middle, slow, worst) in found.items():
            print(
                f"{name:5} middle {middle:5.1f} ms, of 100 the 95th {slow:5.1f}, worst {worst:5.1f}"
            )
        page.evaluate("replay.state.t = 150")
        longest, rate = page.evaluate(LONGEST, PLAYED_S)
        print(f"played {PLAYED_S} s: {rate:.0f} frames a second, longest block {longest:.0f} ms")
        browser.close()


if __name__ == "__main__":
    main()
