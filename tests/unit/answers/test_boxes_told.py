"""What every box costs, as it is told: honest words, pictures that show the numbers, a page for itself."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import imageio.v3 as imageio
import numpy as np
import pandas as pd
import pytest

from simrun.answers.boxes import charts
from simrun.answers.boxes.cells import cells
from simrun.answers.boxes.cost_words import Told, sentence_of
from simrun.answers.boxes.ours_elsewhere import OursElsewhere
from simrun.answers.boxes.page import page_of
from simrun.answers.boxes.run import run_boxes
from simrun.answers.boxes.sample import (
    THE_BOX,
    Sample,
)
from simrun.answers.boxes.words import box_rows, parts_reading, reading_of, short_rows
from simrun.measure.loss import PARTS
from simrun.pages.frame import html_of
from simrun.pages.numbers import NOTHING_SEEN
from simrun.pages.page import Figure
from simrun.pages.racing_words import OPENING_IS_A_SPLIT
from simrun.pictures.charts import start_map as maps
from simrun.pictures.charts.chart import COLOUR_MAP, png_of
from simrun.scenario.changes.changes_course import to_the_finish
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.scenario.teams import drawn_again

SCENARIOS = Path(__file__).parents[3] / "scenarios"
BLANK = Figure(b"", "nothing")


def test_colours_are_in_order_for_every_eye() -> None:
    """Lightness grows without a break from least to most lost, in plain and in simulated vision.

    The simulation takes red for green (deuteranopia, all the way): it mixes the two channels.
    """
    from matplotlib import colormaps

    colours = colormaps[COLOUR_MAP](np.linspace(0, 1, 64))[:, :3] ** 2.2
    blind = colours @ np.array(
        [[0.367, 0.280, -0.012], [0.861, 0.673, 0.043], [-0.228, 0.047, 0.969]]
    )
    for seen in (colours, blind):
        lightness = seen @ [0.2126, 0.7152, 0.0722]
        assert (np.diff(lightness) > 0).all()


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> Callable[..., tuple[Any, bytes]]:
    """Draws, and gives what was drawn beside its bytes."""

    def draw(module: Any, draw_it: Callable[..., bytes], *given: Any) -> tuple[Any, bytes]:
        figures: list[Any] = []

        def kept(figure: Any) -> bytes:
            figures.append(figure)
            return png_of(figure)

        monkeypatch.setattr(module, "png_of", kept)
        png = draw_it(*given)
        (figure,) = figures
        return figure, png

    return draw


def test_the_map_shows_more_loss_as_a_lighter_box(
    ferry: Scenario, drawn: Callable[..., tuple[Any, bytes]]
) -> None:
    """Read back out of the picture, at the middle of every box; an unknown box stays white."""
    lost = {box: float(box) for box in range(1, 24)}
    figure, png = drawn(maps, maps.start_map, ferry, lost, "t")
    pixels = imageio.imread(io.BytesIO(png), extension=".png")[..., :3]
    axes = figure.axes[0]
    light = []
    for box in ferry.start_line.boxes:
        x, y = (box.left_m + box.right_m) / 2 - [2.0, 0.0]
        column, row = axes.transData.transform((x, y)).astype(int)
        light.append(pixels[pixels.shape[0] - 1 - row, column] @ np.array([0.21, 0.72, 0.07]))
    assert (np.diff(light) > 0).all()
    assert light[-1] > 254


def test_the_chart_draws_bands_means_and_intervals_where_they_are(
    dual: Scenario, sample: Sample, drawn: Callable[..., tuple[Any, bytes]]
) -> None:
    """Bar from the 10th to the 90th percentile, dot at the mean, line over the interval, our box apart."""
    table = cells(sample, dual)
    whole = table[(table.line == "all") & (table.checkpoint == sample.checkpoints[0])]
    scored = whole.assign(cost_points=[3.0, -3.0], cost_points_low=-9.0, cost_points_high=9.0)
    figure, _ = drawn(charts, charts.box_chart, whole, scored, "t", int(whole.box.iloc[0]))
    seconds, places, points = figure.axes
    bars = [(bar.get_y(), bar.get_y() + bar.get_height()) for bar in seconds.patches]
    middle = whole["lost_s_mean"].mean()
    np.testing.assert_allclose(bars, whole[["lost_s_p10", "lost_s_p90"]] - middle)
    for axes, name in ((seconds, "cost_s"), (places, "cost_places"), (points, "cost_points")):
        lines, dots = axes.collections
        ends = [path.vertices[:, 1] for path in lines.get_paths()]
        np.testing.assert_allclose(ends, scored[[f"{name}_low", f"{name}_high"]])
        np.testing.assert_allclose(dots.get_offsets()[:, 1], scored[name])
    dots = seconds.collections[1]
    colours = {tuple(colour) for colour in dots.get_facecolors()}
    assert len(colours) == 2


class Page(HTMLParser):
    """What a page holds: its words, and everything it would fetch."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.words, self.fetched, self.tags = "", [], []  # type: ignore[var-annotated]
        self.feed(text)

    def handle_data(self, data: str) -> None:
        self.words += data

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.fetched += [value for key, value in attrs if key in ("src", "href")]


def test_the_page_needs_no_other_file_and_says_what_it_must(dual: Scenario, tmp_path: Path) -> None:
    """Pictures inside, the standing caution, what is left out; a strange name stays a name."""
    named = dual.changed({"name": "<script>alert(1)</script> & Sons"})
    written = run_boxes(named, tmp_path, (1, 2, 3), ours=True, workers=1).save()
    assert [path.name for path in written] == [
        "boxes.csv",
        "boxes_ours.csv",
        "boxes.png",
        "boxes_map.png",
        "boxes.html",
        "boxes_races.db",
    ]
    page = Page((tmp_path / "boxes.html").read_text("utf-8"))
    assert all(value.startswith("data:image/png;base64,") for value in page.fetched)
    assert len(page.fetched) == 2
    assert "script" not in page.tags
    assert "<script>alert(1)</script> & Sons" in page.words
    for text in ("What a box costs", "Our team", "Not a safety assessment", "Left out: falls"):
        assert text in page.words
    assert " safe " not in page.words
    table = pd.read_csv(tmp_path / "boxes.csv")
    assert set(table.question) == {"the box", "our team"}


def told_of(day: Scenario, samples: Sample, mark: str, ours: OursElsewhere | None = None) -> Told:
    return Told(day, (samples,), (cells(samples, day),), mark, ours, None, "us")


def test_one_seed_claims_nothing(dual: Scenario, sample: Sample) -> None:
    """No interval, no difference: "no difference that we can see", no box named, no star."""
    one = Sample(
        THE_BOX,
        sample.checkpoints,
        sample.box[:1],
        sample.line[:1],
        sample.parts[:1],
        sample.team,
        sample.points[:1],
    )
    told = told_of(dual, one, "gate")
    assert told.cells[0].cost_s.isna().all()
    page = page_of(told, sentence_of(told), (Figure(b"", "chart"), Figure(b"", "map")))
    words = Page(html_of(page)).words
    rows = len(one.checkpoints) * len(one.boxes)
    assert words.count(NOTHING_SEEN) >= rows
    assert " to 0" not in sentence_of(told)
    assert not any("*" in cell for row in short_rows(told) for cell in row)
    assert sentence_of(told) == (
        "Box 2 against the average box: no difference that we can see, neither by the gate nor by the "
        "quarter mile. No team points, because the races end before the finish."
    )


def scored(
    seconds: float,
    places: float,
    points: float,
    day: Scenario,
    sd: float = 1.0,
    points_sd: float = 2.0,
) -> Told:
    """Box 17 of a made-up study to the finish that costs so much, give or take little."""
    rng, seeds = np.random.default_rng(5), 24
    team = np.repeat(np.arange(24), 7)
    by_team = np.array([drawn_again(24, range(1, 25), seed + 1) for seed in range(seeds)])
    ours = by_team == 17
    parts = rng.normal(0, sd, (seeds, 168, 2, len(PARTS)))
    parts[..., 0] += seconds * 24 / 23 * ours[:, team, None]
    parts[..., 4] += places * 24 / 23 * ours[:, team, None]
    lost = rng.normal(0, points_sd, by_team.shape) + points * 24 / 23 * ours
    line = np.full((seeds, 168), "inside")
    sample = Sample(THE_BOX, ("throat", "finish"), by_team[:, team], line, parts, team, lost)
    return told_of(to_the_finish(day), sample, "throat")


@pytest.mark.parametrize(
    ("cost", "sentence"),
    [
        (
            (3.0, 14.0, 9.0),
            r"Box 17 costs a team 3\.\d s \(2\.\d to 3\.\d\) and 14 places \(14 to 14\) by the throat "
            r"against the average box; at the finish it costs (8|9) points \([78] to (9|10)\)\.",
        ),
        (
            (-3.0, -14.0, 0.0),
            r"Box 17 saves a team [23]\.\d s \(2\.\d to 3\.\d\) and 14 places \(14 to 14\) by the throat "
            r"against the average box; in team points at the finish no difference that we can see "
            r"\(\d fewer to \d more\)\.",
        ),
        (
            (0.0, 14.0, -9.0),
            r"Box 17 costs a team 14 places \(14 to 14\) by the throat against the average box; at the "
            r"finish it saves (9|10) points \([89] to (10|11)\)\.",
        ),
        (
            (3.0, -14.0, 9.0),
            r"Box 17 costs a team .* and saves a team 14 places \(14 to 14\) by the throat against .*",
        ),
        (
            (0.0, 0.0, 0.0),
            r"Box 17 against the average box: no difference that we can see, neither by the throat "
            r"\(0\.\d s less to 0\.\d s more\) nor in team points at the finish \(\d fewer to \d more\)\.",
        ),
        (
            (0.0, 0.0, 9.0),
            r"Box 17 against the average box: no difference that we can see by the throat "
            r"\(0\.\d s less to 0\.\d s more\); at the finish it costs (8|9) points \([78] to (9|10)\)\.",
        ),
    ],
    ids=["costs", "saves", "places alone", "both ways", "nothing", "points alone"],
)
@pytest.mark.slow
def test_the_sentence_says_seconds_places_and_points(
    cost: tuple[float, float, float], sentence: str, ferry: Scenario
) -> None:
    """Each with its range, and nothing where nothing is seen; the figures are those of the table."""
    told = scored(*cost, ferry)
    assert re.fullmatch(sentence, sentence_of(told)), sentence_of(told)
    row = told.at_mark.set_index("box").loc[17]
    assert row.cost_s == pytest.approx(cost[0], abs=0.3)
    if abs(cost[0]) > 1:
        assert f"{abs(row.cost_s):.1f} s ({' to '.join(_sizes(row))})" in sentence_of(told)


def _sizes(row: pd.Series) -> list[str]:
    return [f"{size:.1f}" for size in sorted((abs(row.cost_s_low), abs(row.cost_s_high)))]


def test_without_a_box_of_ours_the_boxes_that_differ_are_named(ferry: Scenario) -> None:
    """More, less, and none: what rounds to nothing is not named, however sure it is."""
    nobody = ferry.changed({"teams.Alderbrook.ours": False})
    told = scored(4.0, 0.0, 0.0, nobody, sd=4.0, points_sd=0.05)
    assert sentence_of(told) == (
        "By the throat box 17 costs more than the average box in seconds. At the finish no box can be told "
        "from the average box in team points."
    )


def test_racing_and_waves_are_told_where_there_are_any(dual: Scenario, sample: Sample) -> None:
    """A part more in the table and its note; what a wait for the gun is part of."""
    plain = told_of(dual, sample, "gate")
    assert "racing s" not in box_rows(plain.at_mark)[0]
    assert "racing" not in parts_reading(plain)
    assert "wave" not in reading_of(plain)
    raced = replace(plain, day=dual.changed({"field.racing": "on", "start.waves": 2}))
    assert "traffic + racing, measured" in parts_reading(raced)
    assert "later wave's gun" in reading_of(raced)
    rows = box_rows(plain.at_mark.assign(racing_s_mean=-0.5))
    assert [row[rows[0].index("racing s")] for row in rows[1:]] == ["-0.5", "-0.5"]


def test_racing_is_a_part_where_everybody_races(tmp_path: Path) -> None:
    """A column of its own, the line on openings, and a sum of four; none of it with racing off."""
    off = read(SCENARIOS / "dual_meet.toml")
    for day, is_on in ((off.changed({"field.racing": "on"}), True), (off, False)):
        result = run_boxes(day, tmp_path / day.field.racing, (1, 2), workers=1)
        assert (OPENING_IS_A_SPLIT in result.text) is is_on
        page = html_of(page_of(result._told, result.sentence, (BLANK, BLANK)))
        assert (OPENING_IS_A_SPLIT in page) is is_on
        assert (">racing s<" in page) is is_on
        assert ("line + traffic + racing" in page) is is_on
        table = result.tables["boxes"]
        there = table[(table.checkpoint == "quarter mile") & (table.line == "all")]
        rows = box_rows(there)
        assert len({len(row) for row in rows}) == 1
        for row, here in zip(rows[1:], there.to_dict("records"), strict=True):
            parts = [f"{part}_s_mean" for part in ("box", "line", "traffic", "racing")]
            assert sum(here[part] for part in parts) == pytest.approx(here["lost_s_mean"])
            shown = [f"{round(here[part], 1) + 0.0:+.1f}" for part in parts[: 3 + is_on]]
            assert row[5 : 8 + is_on] == shown
