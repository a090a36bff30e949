"""What every box costs: the same numbers as the races, honest words, pictures that show them."""

from __future__ import annotations

import io
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import imageio.v3 as imageio
import numpy as np
import pandas as pd
import pytest

from simrun.answers.boxes import charts
from simrun.answers.boxes import sample as samples
from simrun.answers.boxes.cells import best_cell, cells
from simrun.answers.boxes.page import page_of
from simrun.answers.boxes.run import run_boxes
from simrun.answers.boxes.sample import (
    EVERY_TEAM,
    Sample,
    every_team,
    our_team,
    placements,
    until_clear,
)
from simrun.answers.boxes.words import Told, at, box_rows, sentence_of
from simrun.base.errors import BadInput
from simrun.engine.run import run_race
from simrun.measure.loss import PARTS, time_lost
from simrun.pages.frame import html_of
from simrun.pages.numbers import NOTHING_SEEN
from simrun.pages.page import Figure
from simrun.pages.racing_words import OPENING_IS_A_SPLIT
from simrun.pictures.charts import start_map as maps
from simrun.pictures.charts.chart import COLOUR_MAP, png_of
from simrun.scenario.changes.changes_course import ending_by
from simrun.scenario.changes.changes_people import with_team_placed
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import estimate, holm

SCENARIOS = Path(__file__).parents[3] / "scenarios"
SEEDS = (3, 1, 2)
BLANK = Figure(b"", "nothing")


@pytest.fixture(scope="module")
def dual() -> Scenario:
    return read(SCENARIOS / "dual_meet.toml").changed({"clock.limit": 75})


@pytest.fixture(scope="module")
def ferry() -> Scenario:
    return read(SCENARIOS / "ferry_meadow.toml")


@pytest.fixture(scope="module")
def sample(dual: Scenario, tmp_path_factory: pytest.TempPathFactory) -> Sample:
    return every_team(dual, SEEDS, tmp_path_factory.mktemp("dual") / "races.db", workers=1)


def test_every_team_is_what_the_races_say(dual: Scenario, sample: Sample) -> None:
    """Means over seeds of the box's mean, and percentiles of single runners, from `time_lost` itself."""
    tables = [time_lost(run_race(dual, seed)).assign(seed=seed) for seed in sorted(SEEDS)]
    runners = pd.concat(tables)
    table = cells(sample, dual)
    assert table["not_arrived"].sum() > 0
    for _, row in table[table.line == "all"].iterrows():
        here = runners[(runners.box == row.box) & (runners.checkpoint == row.checkpoint)]
        for part in PARTS:
            values = here[part].astype(float)
            by_seed = values.groupby(here.seed).mean()
            assert row[f"{part}_mean"] == pytest.approx(by_seed.mean(), nan_ok=True)
            assert row[f"{part}_p90"] == pytest.approx(values.quantile(0.9), nan_ok=True)
        assert row.runners == here.field_s.notna().sum()
        assert row.runners + row.not_arrived == len(here)


def test_the_split_adds_up_in_every_cell(dual: Scenario, sample: Sample) -> None:
    """lost = box + line + traffic, for boxes and for boxes by line."""
    table = cells(sample, dual)
    parts = table[["box_s_mean", "line_s_mean", "traffic_s_mean"]].sum(axis=1, skipna=False)
    np.testing.assert_allclose(parts, table["lost_s_mean"], atol=1e-9)
    assert set(table.line) == {"all", *sample.lines}


def test_our_team_goes_into_every_open_box_and_the_other_takes_its_place(ferry: Scenario) -> None:
    """24 boxes by 3 lines; two teams change places, the other 22 stay, and so do all people."""
    arms = placements(ferry, "Alderbrook")
    assert set(arms) == {
        (b, line) for b in range(1, 25) for line in ("inside", "middle", "outside")
    }
    before, after = ferry.roster(1), arms[5, "outside"].roster(1)
    assert before.team_names == after.team_names
    for same in ("cruise_m_s", "opening", "reaction_s", "radius_m", "pull", "wander", "row"):
        np.testing.assert_array_equal(getattr(before, same), getattr(after, same))
    others = before.team != "Alderbrook"
    np.testing.assert_array_equal(before.choice[others], after.choice[others])
    moved = np.unique(before.team_index[before.box != after.box])
    assert {before.team_names[i] for i in moved} == {"Alderbrook", "Team 5"}
    assert set(after.box[after.team == "Alderbrook"]) == {5}
    assert set(after.box[after.team == "Team 5"]) == {17}
    assert set(after.line[after.team == "Alderbrook"]) == {"outside"}


def test_an_order_takes_the_place_of_every_finer_one(ferry: Scenario) -> None:
    """A turn's own line and a person's own line give way to the study's."""
    told = ferry.changed(
        {
            "teams.Alderbrook.lines": {"barn corner": "outside"},
            "teams.Alderbrook.people": [{"name": "Bram Toller", "line": "outside"}],
        }
    )
    roster = with_team_placed(told, "Alderbrook", 17, "inside").roster(1)
    turns = (roster.choice != "own").all(axis=0)
    assert set(roster.choice[roster.team == "Alderbrook"][:, turns].ravel()) == {"inside"}
    assert "Bram Toller" in roster.name


def test_our_team_is_what_its_own_races_say(dual: Scenario, tmp_path: Path) -> None:
    """Every arm's numbers are those of `run_race` on the changed scenario."""
    sample = our_team(dual, (4,), tmp_path / "races.db", workers=1)
    for (box, line), arm in placements(dual, "Millbrook").items():
        table = time_lost(run_race(arm, 4))
        ours = table[(table.team == "Millbrook") & (table.checkpoint == sample.checkpoints[0])]
        found = sample.by_seed(box, line)[0, 0, 0]
        assert found == pytest.approx(ours.lost_s.mean(), nan_ok=True)
    assert sample.lines == ["inside", "middle", "outside"]


def test_without_our_team_there_is_one_line(dual: Scenario, tmp_path: Path) -> None:
    """The question of every team needs none."""
    nobody = dual.changed({"teams.Millbrook.ours": False})
    with pytest.raises(BadInput, match="ours = true"):
        our_team(nobody, (1,), tmp_path / "races.db", workers=1)


def test_a_shortened_course_ends_at_the_last_checkpoint_left(ferry: Scenario) -> None:
    """Within the first kilometre; nothing left means nothing changed."""
    assert [m.name for m in ending_by(ferry, 600).strip.checkpoints] == [
        "throat",
        "barn exit",
        "gateway",
    ]
    assert ending_by(ferry, 5) is ferry


def made_up(effect_s: dict[int, float], seeds: int, rng: np.random.Generator) -> Sample:
    """Boxes 1 to 24 with one team each: alike, but for the boxes that lose more."""
    box = np.tile(np.repeat(np.arange(1, 25), 7), (seeds, 1))
    lost = 5 + rng.normal(0, 2, (seeds, 1)) + rng.normal(0, 1.5, box.shape)
    for number, more in effect_s.items():
        lost[box == number] += more
    parts = np.repeat(lost[:, :, None, None], len(PARTS), axis=3)
    return Sample(EVERY_TEAM, ("throat",), box, np.full(box.shape, "inside"), parts)


def test_a_box_that_costs_more_is_seen_and_its_neighbours_are_not(ferry: Scenario) -> None:
    """Three seconds at box 7, twelve races: seen there, against the mean of all boxes."""
    sample = made_up({7: 3.0}, 12, np.random.default_rng(3))
    table = cells(sample, ferry)
    seen = table[(table.line == "all") & (table.against_p < 0.05)]
    assert list(seen.box) == [7]
    truth = 3.0 * 23 / 24
    assert seen.against_s_low.item() < truth < seen.against_s_high.item()
    assert best_cell(sample, 0, "all").name != "box 7"


def test_boxes_alike_are_rarely_said_to_differ() -> None:
    """24 boxes without a difference: a claim about any of them in at most one study of twenty."""
    rng, trials, wrong = np.random.default_rng(4), 300, 0
    for _ in range(trials):
        sample = made_up({}, 8, rng)
        lost = np.stack([sample.by_seed(box)[:, 0, 0] for box in sample.boxes])
        p_values = [estimate(row).p_value for row in lost - lost.mean(axis=0)]
        wrong += bool((holm(p_values) < 0.05).any())
    assert wrong / trials < 0.05 + 4 * np.sqrt(0.05 * 0.95 / trials)


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
    figure, _ = drawn(charts, charts.box_chart, whole, "t", int(whole.box.iloc[0]))
    seconds = figure.axes[0]
    bars = [(bar.get_y(), bar.get_y() + bar.get_height()) for bar in seconds.patches]
    np.testing.assert_allclose(bars, whole[["lost_s_p10", "lost_s_p90"]])
    lines, dots = seconds.collections
    ends = [path.vertices[:, 1] for path in lines.get_paths()]
    np.testing.assert_allclose(ends, whole[["lost_s_low", "lost_s_high"]])
    np.testing.assert_allclose(dots.get_offsets()[:, 1], whole["lost_s_mean"])
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
    for text in ("Every team", "Our team", "Not a safety assessment", "Left out: falls"):
        assert text in page.words
    assert " safe " not in page.words
    table = pd.read_csv(tmp_path / "boxes.csv")
    assert set(table.question) == {"every team", "our team"}


def test_one_seed_claims_nothing(dual: Scenario, sample: Sample) -> None:
    """No interval, no difference: "no difference that we can see" in every row."""
    one = Sample(EVERY_TEAM, sample.checkpoints, sample.box[:1], sample.line[:1], sample.parts[:1])
    table = cells(one, dual)
    assert (table.seeds <= 1).all()
    told = Told(dual, (one,), (table,), None, "us")
    page = page_of(told, sentence_of(told), (Figure(b"", "chart"), Figure(b"", "map")))
    words = Page(html_of(page)).words
    rows = len(one.checkpoints) * len(one.boxes)
    assert words.count(NOTHING_SEEN) >= rows
    assert "between" not in words


def test_races_end_when_our_box_is_clear(
    dual: Scenario, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Values are those of the races; a planted 30 s is clear at the first of two looks; no box, no answer."""
    seeds = tuple(range(1, 21))
    day = dual.changed({"course.checkpoints": [{"name": "well", "at": "70 yd"}]})
    monkeypatch.setattr(samples, "FINE_ENOUGH_S", 0.0)
    sample = every_team(day, seeds, tmp_path / "races.db", workers=1)
    both = np.stack([sample.by_seed(box)[:, -1, 0] for box in (2, 3)])
    found = until_clear(day, seeds, tmp_path / "races.db", workers=1)
    expected = (both[0] - both.mean(axis=0))[: len(found.values)]
    assert np.allclose(found.values, expected)
    planted = sample.parts + 30.0 * (sample.box == 2)[:, :, None, None]
    moved = Sample(sample.question, sample.checkpoints, sample.box, sample.line, planted)
    monkeypatch.setattr(samples, "every_team", lambda *_, **__: moved)
    assert len(until_clear(day, seeds, tmp_path / "x.db").values) == 10
    with pytest.raises(BadInput, match="with a box"):
        until_clear(dual.changed({"teams.Millbrook.ours": False}), (1,), tmp_path / "x.db")


def test_racing_is_a_part_where_everybody_races(tmp_path: Path) -> None:
    """A column of its own, the line on openings, and a sum of four; none of it with racing off."""
    off = read(SCENARIOS / "dual_meet.toml")
    for day, is_on in ((off.changed({"field.racing": "on"}), True), (off, False)):
        result = run_boxes(day, tmp_path / day.field.racing, (1, 2), workers=1)
        text = result.text
        assert (" racing s " in text) is is_on
        assert (OPENING_IS_A_SPLIT in text) is is_on
        assert ("box + line + traffic + racing," in text) is is_on
        page = html_of(page_of(result._told, result.sentence, (BLANK, BLANK)))
        assert (OPENING_IS_A_SPLIT in page) is is_on
        assert (">racing s<" in page) is is_on
        cells_there = at(result.table, "quarter mile")
        rows = box_rows(cells_there, "metric", is_on)
        assert len({len(row) for row in rows}) == 1
        for row, here in zip(rows[1:], cells_there.to_dict("records"), strict=True):
            parts = [f"{part}_s_mean" for part in ("box", "line", "traffic", "racing")]
            assert sum(here[part] for part in parts) == pytest.approx(here["lost_s_mean"])
            shown = [f"{round(here[part], 1) + 0.0:+.1f}" for part in parts[: 3 + is_on]]
            assert row[5 : 8 + is_on] == shown
