"""How long does the desk take for a step of a drag, to the handbook's word and to raced figures? By hand.

    python tests/speed/bench_desk.py           every shipped day, asked as the page asks
    python tests/speed/bench_desk.py --page    raced figures as they stand in the page, in a browser

Beside every time stands what the machine was busy with: the processes that were ready to run.
"""

from __future__ import annotations

import contextlib
import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

TOP = Path(__file__).parents[2]
sys.path.insert(0, str(TOP))

from simrun.base.errors import BadInput  # noqa: E402
from simrun.desk.desk_hands import Hands  # noqa: E402
from simrun.desk.work.estimates import warm  # noqa: E402
from tests.helpers.desks import ARGUMENTS, CHROMIUM, folder_with, open_desk, page_of  # noqa: E402

DAYS = ("dual_meet", "brindle_fen", "ferry_meadow", "sallow_heath", "ostrel_common")
DRAGS = 15
LONGEST_S = 60.0


def drag_ms(hands: Hands, name: str, key: str) -> list[float]:
    """One drag in small steps, each as the page asks for it: milliseconds of the processor."""
    file = f"{name}.toml"
    day = hands.day({"file": file})
    if key not in day["limits"] and key != "throat":
        return []
    if key == "throat" and not day["throat"]:
        return []
    low, high = day["limits"][key]
    named = {"throat_number": day["throat"]["number"]} if key == "throat" else {}
    ground = key in ("straight", "throat")
    found = []
    for step in range(DRAGS):
        value = low + (high - low) * (0.1 + 0.02 * step)
        begun = time.thread_time()
        with contextlib.suppress(BadInput):  # a lap that no longer closes is told, as soon
            hands.tried({"file": file, key: value, "ground": ground, **named})
        found.append(1000 * (time.thread_time() - begun))
    return found


def first_ms(hands: Hands, name: str) -> list[float]:
    """The handbook's word on a line while it is turned: milliseconds of the processor."""
    found = []
    for step in range(DRAGS):
        begun = time.thread_time()
        hands.first({"file": f"{name}.toml", "tilt": 0.1 * step})
        found.append(1000 * (time.thread_time() - begun))
    return found


def estimate_s(hands: Hands, name: str) -> tuple[float, float, float]:
    """From the end of a drag to the first raced figures, what they took of the processor, and to eight races.

    The first are of two races side by side: on two free cores they take half of that.
    """
    begun, processor = time.perf_counter(), time.process_time()
    number = hands.estimate({"file": f"{name}.toml"})["number"]
    first, taken, eight = 0.0, 0.0, float("nan")
    while (passed := time.perf_counter() - begun) < LONGEST_S:
        told = hands.estimated({})
        if told.get("number") == number and told.get("races", 0) >= 2 and not first:
            first, taken = passed, time.process_time() - processor
        if told.get("races", 0) >= 8 or told["state"] == "failed":
            eight = passed
            break
        time.sleep(0.01)
    hands.estimates.drop()  # as the next drag does: what is measured then is not measured beside races
    return first, taken, eight


def seen_s(address: str, browser: Browser, name: str) -> list[float]:
    """From letting go of the line's end to the first raced figures on the page, three times."""
    found = []
    with page_of(browser, address, f"#{name}.toml/layout") as page:
        for _ in range(3):
            page.wait_for_selector("#raced dl", timeout=120_000)
            page.focus(".handle.tilt")
            begun = time.perf_counter()
            page.keyboard.press("ArrowUp")
            page.wait_for_selector("#raced dl", state="detached", timeout=10_000)
            page.wait_for_selector("#raced dl", timeout=120_000)
            found.append(time.perf_counter() - begun)
    return found


def in_the_page() -> None:
    """A line a race day, as somebody at the desk sees it."""
    with tempfile.TemporaryDirectory() as where, sync_playwright() as engine:
        browser = engine.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        with open_desk(folder_with(Path(where), *DAYS)) as address:
            for name in DAYS:
                told = ", ".join(f"{each:.1f}" for each in seen_s(address, browser, name))
                sys.stdout.write(f"{name}: raced figures in the page after {told} s ({busy()})\n")
        browser.close()


def busy() -> str:
    """How many processes were ready to run in the last minute, on how many cores?"""
    return f"{os.getloadavg()[0]:.1f} processes ready to run on {os.cpu_count()} cores"


def main() -> None:
    """A line a race day."""
    if "--page" in sys.argv:
        in_the_page()
        return
    hands = Hands(TOP / "scenarios")
    warm()
    for name in DAYS:
        told = []
        for key in ("tilt", "bow", "straight", "throat"):
            found = drag_ms(hands, name, key)
            if found:
                told.append(f"{key} {statistics.median(found):.0f} ms (longest {max(found):.0f})")
        at_once = first_ms(hands, name)
        told.append(f"handbook {statistics.median(at_once):.0f} ms (longest {max(at_once):.0f})")
        first, taken, eight = estimate_s(hands, name)
        raced = f"raced {first:.1f} s ({taken:.1f} s of the processor), of 8 races {eight:.1f} s"
        sys.stdout.write(f"{name}: {', '.join(told)}; {raced} ({busy()})\n")
    hands.close()


if __name__ == "__main__":
    main()
