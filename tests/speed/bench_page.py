"""What does a frame of the replay page cost, beside a bare drawing of as many dots?

    python tests/speed/bench_page.py            224 runners, 1920 x 1080

Drawn by the browser without a graphics card. Milliseconds of processor time a frame, of the page's own thread
and of all the browser's processes: the clock on the wall also counts what else the machine does. A frame of
sixty a second lasts 16.7 ms. Bare: the same dots at the same places, one colour, on a canvas as large as the
page's map. Longest: the page's longest block without a pause, in processor time and by the clock.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, CDPSession, Page, sync_playwright

import simrun
from simrun.pictures.replay.replay_page import write_page

DAY = Path(__file__).parents[2] / "scenarios" / "ostrel_common.toml"
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
FRAMES, FRAME_MS = 240, 1000 / 60
MOMENTS_S = (3, 60, 150, 400)
PLAY = """frames => new Promise((done) => {
    let left = frames;
    const begun = performance.now();
    const next = () => {
        if (!left--) { done(performance.now() - begun); return; }
        if (window.bare) bare();
        requestAnimationFrame(next);
    };
    requestAnimationFrame(next);
})"""
BARE = """() => {
    const { map, state, races: [race] } = replay, dots = document.createElement("canvas");
    Object.assign(dots, { width: map.canvas.width, height: map.canvas.height });
    dots.style.cssText = `position: fixed; left: 0; top: 0; width: ${dots.width}px; height: ${dots.height}px`;
    document.body.replaceChildren(dots);
    const context = dots.getContext("2d", { alpha: false }), spot = [0, 0];
    window.bare = () => {
        state.t += 1 / 60;
        context.fillStyle = "white";
        context.fillRect(0, 0, dots.width, dots.height);
        context.fillStyle = "black";
        for (let i = 0; i < race.count; i++) {
            if (!race.at(state.t, i, spot)) continue;
            context.beginPath();
            context.arc(...map.screen(...spot), 4, 0, 7);
            context.fill();
        }
    };
}"""


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as engine:
        path = write_page(simrun.race(simrun.read(DAY), seed=1), Path(folder) / "replay.html")
        profile = str(Path(folder) / "profile")
        context = engine.chromium.launch_persistent_context(
            profile,
            executable_path="/usr/bin/chromium",
            args=ARGUMENTS,
            viewport={"width": 1920, "height": 1080},
        )
        print(f"longest block while it opens  {longest(context, path, plays=False)}")
        print(f"longest block while it plays  {longest(context, path, plays=True)}")
        page = opened(context, path)
        console = context.new_cdp_session(page)
        console.send("Performance.enable", {"timeDomain": "threadTicks"})
        for t_s in MOMENTS_S:
            page.evaluate(f"replay.state.playing = true; replay.state.t = {t_s}")
            report(f"page from {t_s} s", page, console, profile)
        page.evaluate("document.getElementById('view').click(); replay.state.t = 60")
        report("eye from 60 s", page, console, profile)
        page.evaluate("document.getElementById('view').click(); replay.state.playing = false")
        page.evaluate("replay.state.t = 150; replay.show()")
        page.evaluate(BARE)
        report("bare from 150 s", page, console, profile)
        context.close()


def opened(context: BrowserContext, path: Path) -> Page:
    page = context.new_page()
    page.goto(path.as_uri())
    page.wait_for_selector("body[data-ready]")
    return page


def report(name: str, page: Page, console: CDPSession, profile: str) -> None:
    thread, all_of_it = thread_ms(console), processes_ms(profile)
    wall = page.evaluate(PLAY, FRAMES)
    thread, all_of_it = thread_ms(console) - thread, processes_ms(profile) - all_of_it
    print(
        f"{name:16} the page's thread {thread / FRAMES:5.1f} ms, "
        f"{100 * thread / FRAMES / FRAME_MS:3.0f} % of a frame; all processes "
        f"{all_of_it / FRAMES:5.1f} ms; {1000 * FRAMES / wall:3.0f} frames a second"
    )


def thread_ms(console: CDPSession) -> float:
    """Processor time of the page's own thread so far."""
    told = console.send("Performance.getMetrics")["metrics"]
    return 1000 * float(next(m["value"] for m in told if m["name"] == "TaskDuration"))


def processes_ms(profile: str) -> float:
    """Processor time so far of all processes that were started with this profile, from /proc."""
    total = 0.0
    for process in Path("/proc").iterdir():
        try:
            if process.name.isdigit() and profile in (process / "cmdline").read_text():
                told = (process / "stat").read_text().rsplit(")", 1)[1].split()
                total += 1000 * (int(told[11]) + int(told[12])) / os.sysconf("SC_CLK_TCK")
        except OSError:
            continue  # it has ended meanwhile
    return total


def longest(context: BrowserContext, path: Path, plays: bool) -> str:
    """The longest task of the page's thread, in processor time and by the clock, as the browser traces it."""
    page = context.new_page()
    console = context.new_cdp_session(page)
    found: list[dict[str, Any]] = []
    console.on("Tracing.dataCollected", lambda told: found.extend(told["value"]))
    done: list[bool] = []
    console.on("Tracing.tracingComplete", lambda told: done.append(True))
    if plays:
        page.goto(path.as_uri())
        page.wait_for_selector("body[data-ready]")
        page.wait_for_timeout(500)
    categories = "disabled-by-default-devtools.timeline,devtools.timeline,__metadata"
    console.send("Tracing.start", {"categories": categories})
    if plays:
        page.get_by_role("button", name="play", exact=True).click()
        page.wait_for_timeout(6000)
    else:
        page.goto(path.as_uri())
        page.wait_for_selector("body[data-ready]")
        page.wait_for_timeout(500)
    console.send("Tracing.end")
    while not done:
        page.wait_for_timeout(50)
    page.close()
    threads = [
        (event["pid"], event["tid"])
        for event in found
        if event["name"] == "thread_name" and event["args"]["name"] == "CrRendererMain"
    ]
    tasks = [
        event
        for event in found
        if event["name"] == "RunTask" and (event["pid"], event["tid"]) in threads
    ]
    most = max(event.get("tdur", 0) for event in tasks) / 1000
    return (
        f"{most:3.0f} ms, by the clock {max(event.get('dur', 0) for event in tasks) / 1000:3.0f} ms"
    )


if __name__ == "__main__":
    main()
