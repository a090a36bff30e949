"""Clicks, keys, undo and reload by chance: the file stays readable, and the page answers.

By hand, as many as one likes, a row each in a table; stopped, it goes on with the next:
python tests/journeys/test_desk_at_random.py 1000 TABLE.csv
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Error, Page, Response, sync_playwright

TOP = Path(__file__).parents[2]
sys.path.insert(0, str(TOP))

from simrun.base.errors import BadInput  # noqa: E402
from simrun.base.writing import write_text  # noqa: E402
from simrun.scenario.reader import read  # noqa: E402
from tests.helpers.desks import ARGUMENTS, CHROMIUM, folder_with, open_desk, page_of  # noqa: E402

DAYS = ("dual_meet", "brindle_fen")
KEYS = (
    "ArrowUp",
    "ArrowDown",
    "ArrowLeft",
    "ArrowRight",
    "Enter",
    "Tab",
    "Escape",
    "Control+z",
    "Control+y",
)
KEYS += ("Backspace", "PageUp", "+", "-", "0", "1")
TYPED = ("", "0", "-3", "7", "36.5", "1e9", "abc", "<b>x</b>", "12:30", "\u202eevil", "a" * 200)
PRESSED = "#panel button:visible:not([id^=run]):not(#copy), #undo, #redo, .way button, .near button, #fresh"
STEPS_EACH = 8
TABLE, HEAD = Path(__file__).with_name("desk_at_random.csv"), "seed,wrong,what"
OPENED = ("ground", "line", "people", "plan", "layout")


def one_step(page: Page, rng: np.random.Generator) -> None:
    """Something that somebody may do."""
    match rng.integers(0, 9):
        case 0 | 1:
            _any(page, PRESSED, rng, lambda found: found.click(timeout=400, no_wait_after=True))
        case 2:
            page.keyboard.press(str(rng.choice(KEYS)))
        case 3:
            word = str(rng.choice(TYPED))
            fields = "#panel input[type=text]:visible, #panel textarea:visible"
            _any(page, fields, rng, lambda found: found.fill(word, timeout=400))
        case 4:
            number = str(rng.choice(["", "0", "-3", "7", "36.5", "1e9", "0.0001"]))
            fields = "#panel input[type=number]:visible"
            _any(
                page,
                fields,
                rng,
                lambda found: (found.fill(number, timeout=400), found.press("Tab")),
            )
        case 5:
            box = page.locator("#map").bounding_box() or {"x": 0, "y": 0, "width": 9, "height": 9}
            spots = [
                (box["x"] + box["width"] * rng.random(), box["y"] + box["height"] * rng.random())
                for _ in "12"
            ]
            page.mouse.move(*spots[0])
            page.mouse.down()
            page.mouse.move(*spots[int(rng.integers(0, 2))], steps=3)
            page.mouse.up()
        case 6:
            box = None
            handles = page.locator(".handle")
            if handles.count():
                box = handles.nth(int(rng.integers(0, handles.count()))).bounding_box(timeout=400)
            if box:
                page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
                page.mouse.down()
                page.mouse.move(box["x"] + 80 * rng.normal(), box["y"] + 80 * rng.normal(), steps=4)
                page.mouse.up()
        case 7:
            choose = "#panel select:visible"
            at = int(rng.integers(0, 6))
            _any(page, choose, rng, lambda found: found.select_option(index=at, timeout=400))
        case _:
            page.reload()
            page.wait_for_selector("body[data-ready]")


def _sequence(page: Page, address: str, rng: np.random.Generator) -> None:
    """Opened anew somewhere, then a few steps."""
    page.goto("about:blank")
    page.goto(f"{address}#{rng.choice(DAYS)}.toml/{rng.choice(OPENED)}")
    page.wait_for_selector("body[data-ready]")
    for _ in range(STEPS_EACH):
        try:
            one_step(page, rng)
        except Error:  # what was to be pressed went away meanwhile
            continue
    page.goto("about:blank")
    page.goto(f"{address}#{DAYS[0]}.toml/line")
    page.wait_for_selector("body[data-ready]")


def _any(page: Page, which: str, rng: np.random.Generator, do) -> None:  # type: ignore[no-untyped-def]
    found = page.locator(which)
    count = found.count()
    if count:
        do(found.nth(int(rng.integers(0, count))))


def tried(folder: Path, seeds: Iterable[int]) -> Iterator[tuple[int, list[str]]]:
    """A sequence a seed, each from the files as they are shipped; gives the seed and what went wrong."""
    with sync_playwright() as engine, open_desk(folder_with(folder, *DAYS)) as address:
        browser = engine.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        with page_of(browser, address) as page:
            wrong: list[str] = []
            page.on("pageerror", lambda error: wrong.append(f"in the page: {error}"))
            page.on("response", lambda reply: wrong.extend(_broken(reply)))
            for seed in seeds:
                wrong.clear()
                _as_shipped(folder)
                _sequence(page, address, np.random.default_rng(seed))
                if not page.title() or not page.locator("#panel > *").count():
                    wrong.append("the page shows nothing")
                yield seed, [*wrong, *unreadable(folder)]
        browser.close()


def _broken(reply: Response) -> list[str]:
    return [f"{reply.status} of {reply.url.rsplit('/', 1)[-1]}"] if reply.status >= 500 else []


def _as_shipped(folder: Path) -> None:
    for path in folder.glob("*.toml"):
        path.unlink()
    folder_with(folder, *DAYS)


def unreadable(folder: Path) -> list[str]:
    """Which scenarios of the folder cannot be read any more, and why?"""
    found = []
    for path in sorted(folder.glob("*.toml")):
        try:
            read(path)
        except BadInput as refused:
            found.append(f"{path.name}: {refused}")
    return found


@pytest.mark.slow
def test_whatever_is_pressed_leaves_a_readable_file(tmp_path: Path) -> None:
    """Six sequences by seed; `page_of` fails where an error of ours shows in the page."""
    assert [(seed, wrong) for seed, wrong in tried(tmp_path, range(6)) if wrong] == []


def main() -> None:
    """So many sequences, a row each; those that the table holds already are not run again."""
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    file = Path(sys.argv[2]) if len(sys.argv) > 2 else TABLE
    rows = file.read_text("utf-8").splitlines() if file.exists() else [HEAD]
    known = {int(row.split(",", 1)[0]) for row in rows[1:]}
    with tempfile.TemporaryDirectory() as where:
        for seed, wrong in tried(Path(where), [s for s in range(many) if s not in known]):
            rows.append(f"{seed},{len(wrong)},{json.dumps('; '.join(wrong)) if wrong else ''}")
            write_text(file, "\n".join(rows) + "\n")
    failed = [row for row in rows[1:] if row.split(",")[1] != "0"]
    sys.stdout.write("\n".join(failed) + f"\n{len(failed)} of {len(rows) - 1} went wrong\n")


if __name__ == "__main__":
    main()
