"""The replay page from a phone to a projector and on paper: ours in view, nothing cut off, light, quick."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from simrun.pictures.replay.replay_page import write_page
from tests.helpers.recordings import SHIPPED, shipped
from tests.helpers.replay_pages import opened

SIZES = [
    *((390, 844), (1366, 768)),
    *(pytest.param(*size, marks=pytest.mark.slow) for size in ((844, 390), (1920, 1080))),
]
WHOLE_RACE = """([from, to, step]) => {
    let frames = 0, whole = 0;
    for (let t = from; t <= to; t += step) {
        const [there, seen] = replay.map.inView({ ...replay.state, t });
        frames++;
        if (there === seen) whole++;
    }
    return whole / frames;
}"""


@pytest.mark.parametrize(("wide", "high"), SIZES)
def test_at_every_size_ours_are_in_view_and_the_ledger_above_the_fold(
    browser: Browser, replay_folder: Path, wide: int, high: int
) -> None:
    """All seven in 99 % of the frames of the whole race at least, unless told otherwise; the first row of the
    ledger is seen without scrolling, and nothing sticks out to the side."""
    for page in opened(
        browser, replay_folder / "replay.html", viewport={"width": wide, "height": high}
    ):
        last = page.evaluate("replay.races[0].last_s")
        assert page.evaluate(WHOLE_RACE, [0, last, 0.1]) >= 0.99
        page.evaluate("replay.map.camera.zoom = 6")
        assert page.evaluate(WHOLE_RACE, [0, last, 0.5]) < 0.9
        box = page.locator("#places tr").first.bounding_box()
        assert box
        assert box["y"] + box["height"] <= high
        assert page.evaluate("document.documentElement.scrollWidth") <= wide


@pytest.mark.slow
@pytest.mark.parametrize("name", ["ostrel_common", "sallow_heath", "brindle_fen"])
def test_all_of_ours_are_in_view_in_whole_races(
    browser: Browser, tmp_path: Path, name: str
) -> None:
    """Also when a team comes to lie hundreds of metres apart."""
    path = write_page(shipped(name, 1), tmp_path / "replay.html")
    for page in opened(browser, path, viewport={"width": 1366, "height": 768}):
        last = page.evaluate("replay.races[0].last_s")
        assert page.evaluate(WHOLE_RACE, [0, last, 0.2]) >= 0.99


def test_it_fits_a_phone(browser: Browser, replay_folder: Path) -> None:
    """At 360 px nothing sticks out to the side, and every control has a name and is a thumb high."""
    for page in opened(
        browser, replay_folder / "replay.html", viewport={"width": 360, "height": 740}
    ):
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        page.locator("#more summary").click()
        seen = 0
        for kind in ("button", "select", "input[type=text]"):
            for control in page.locator(kind).all():
                if not control.is_visible():
                    continue
                box = control.bounding_box()
                assert box
                assert box["height"] >= 43.9
                seen += 1
                assert control.evaluate("c => (c.labels?.[0] ?? c).textContent || c.ariaLabel")
        assert seen >= 12


def test_less_motion_is_respected(browser: Browser, replay_folder: Path) -> None:
    """Who wants little of it sees a camera that stands still, and all of ours in the picture."""
    moves = []
    for motion in ("reduce", "no-preference"):
        for page in opened(browser, replay_folder / "replay.html", reduced_motion=motion):
            assert page.evaluate("replay.state.calm") == (motion == "reduce")
            moves.append(
                page.evaluate(
                    """() => {
                        let moved = 0, before = "";
                        for (let t = 0; t <= 99; t += 0.1) {
                            replay.map.place({ ...replay.state, t });
                            const { x, y, scale } = replay.map.camera, now = [x, y, scale].join();
                            if (before && now !== before) moved++;
                            before = now;
                        }
                        return moved;
                    }"""
                )
            )
            last = page.evaluate("replay.races[0].last_s")
            assert page.evaluate(WHOLE_RACE, [0, last, 0.1]) >= 0.99
    assert 1 <= moves[0] <= 10
    assert moves[1] > 500


def test_a_frame_asks_the_page_for_nothing(page: Page) -> None:
    """Sizes and letters are measured once: asked while it plays, every frame would lay the page out anew."""
    page.evaluate("replay.state.t = 50; replay.state.playing = true; replay.show(true)")
    asked = page.evaluate(
        """() => {
            let asked = 0;
            for (const name of ["clientWidth", "clientHeight"]) {
                const { get } = Object.getOwnPropertyDescriptor(Element.prototype, name);
                Object.defineProperty(Element.prototype, name, {
                    configurable: true, get() { asked++; return get.call(this); },
                });
            }
            const measured = CanvasRenderingContext2D.prototype.measureText;
            CanvasRenderingContext2D.prototype.measureText = function (text) {
                asked++;
                return measured.call(this, text);
            };
            replay.show(true);
            const moving = asked;
            replay.show();
            return [moving, asked];
        }"""
    )
    assert asked[0] == 0
    assert asked[1] > 0, "after a hand's doing they are asked anew"


def test_it_prints_on_one_sheet(browser: Browser, replay_folder: Path) -> None:
    """The PDF that the browser makes of it has one page."""
    for page in opened(
        browser, replay_folder / "replay.html", viewport={"width": 1366, "height": 768}
    ):
        page.evaluate("replay.state.t = 60; replay.show()")
        assert page.pdf(prefer_css_page_size=True).count(b"/Type /Page\n") == 1


def test_a_whole_kilometre_is_small(replay_folder: Path) -> None:
    """100 s of 168 runners twice."""
    assert (replay_folder / "replay.html").stat().st_size < 1_000_000


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(path.stem for path in SHIPPED.glob("*.toml")))
def test_the_page_of_every_shipped_race_is_small(name: str, tmp_path: Path) -> None:
    """Also 210 runners over five kilometres: below 1.5 MB."""
    assert write_page(shipped(name, 1), tmp_path / "replay.html").stat().st_size < 1_500_000


NARROWEST = """() => {
    const box = (found) => found.getBoundingClientRect(), clock = box(document.getElementById("clock"));
    const words = document.createRange();
    words.selectNodeContents(document.querySelector("h1"));
    const rows = [...document.querySelectorAll("#places tr.ours")].map((row) => box(row));
    return {
        above: box(document.getElementById("map")).top - clock.bottom,
        beside: clock.left - Math.min(box(words).right, box(document.querySelector("h1")).right),
        heights: rows.map(({ height }) => Math.round(height)), last: rows[6].bottom,
    };
}"""


@pytest.mark.parametrize(("wide", "high"), [(390, 844), (844, 390), (1366, 768), (1920, 1080)])
def test_the_clock_lies_on_nothing_and_each_of_ours_has_one_line(
    browser: Browser, replay_folder: Path, wide: int, high: int
) -> None:
    """The clock is above the picture, beside the title, also a long one; all seven rows are seen at once."""
    size = {"width": wide, "height": high}
    for page in opened(browser, replay_folder / "replay.html", viewport=size):
        page.evaluate("document.querySelector('h1').textContent += ' of the eastern valleys'")
        found = page.evaluate(NARROWEST)
        assert found["above"] >= -1
        assert found["beside"] >= 0
        assert len(set(found["heights"])) == 1
        assert found["last"] <= high


def test_nobody_is_twice_on_the_ribbon(browser: Browser, tmp_path: Path) -> None:
    """Two windows show two stretches of the course; a phone, and a team that is not far apart, need care."""
    path = write_page(shipped("dual_meet", 1), tmp_path / "replay.html")
    for page in opened(browser, path, viewport={"width": 390, "height": 844}):
        two = page.evaluate(
            """() => {
                let two = 0;
                for (let t = 0; t < replay.races[0].last_s; t += 0.1) {
                    const [behind, ahead] = replay.ribbon.windows({ ...replay.state, t });
                    if (!ahead) continue;
                    two++;
                    if (behind.from + behind.wide / behind.scale > ahead.from) return -t;
                }
                return two;
            }"""
        )
        assert two > 50
