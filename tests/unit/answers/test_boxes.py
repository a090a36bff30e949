"""What every box costs: the same numbers as the races, honest words, pictures that show them."""

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
from simrun.answers.boxes import sample as samples
from simrun.answers.boxes.cells import cells
from simrun.answers.boxes.cost_words import Told, sentence_of
from simrun.answers.boxes.ours_elsewhere import OursElsewhere, ours_elsewhere, seeds_wanted
from simrun.answers.boxes.page import page_of
from simrun.answers.boxes.run import run_boxes
from simrun.answers.boxes.sample import (
    THE_BOX,
    Sample,
    every_box,
    first_mark,
    our_team,
    placements,
    until_clear,
    whole_blocks,
)
from simrun.answers.boxes.words import box_rows, parts_reading, reading_of, short_rows
from simrun.base.errors import BadInput
from simrun.engine.run import run_race
from simrun.measure.loss import PARTS, time_lost
from simrun.pages.frame import html_of
from simrun.pages.numbers import NOTHING_SEEN
from simrun.pages.page import Figure
from simrun.pages.racing_words import OPENING_IS_A_SPLIT
from simrun.pictures.charts import start_map as maps
from simrun.pictures.charts.chart import COLOUR_MAP, png_of
from simrun.scenario.changes.changes_course import ending_by, to_the_finish
from simrun.scenario.changes.changes_people import with_draw_again, with_team_placed
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.scenario.teams import drawn_again

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
    return every_box(dual, SEEDS, tmp_path_factory.mktemp("dual") / "races.db", workers=1)


def test_every_box_is_what_the_races_say(dual: Scenario, sample: Sample) -> None:
    """Means over seeds of the box's mean, and percentiles of single runners, from `time_lost` itself."""
    again = with_draw_again(dual)
    tables = [time_lost(run_race(again, seed)).assign(seed=seed) for seed in sorted(SEEDS)]
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
    """What a box costs needs none."""
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
    """Boxes 1 to 24 drawn again, 24 teams that differ: alike, but for the boxes that lose more."""
    team = np.repeat(np.arange(24), 7)
    box = np.array([drawn_again(24, range(1, 25), seed + 1) for seed in range(seeds)])[:, team]
    lost = 5 + rng.normal(0, 2, (seeds, 1)) + rng.normal(0, 1.5, box.shape) + team
    for number, more in effect_s.items():
        lost[box == number] += more
    parts = np.repeat(lost[:, :, None, None], len(PARTS), axis=3)
    points = np.full((seeds, 24), np.nan)
    line = np.full(box.shape, "inside")
    return Sample(THE_BOX, ("throat",), box, line, parts, team, points)


def test_a_box_that_costs_more_is_seen_and_its_neighbours_are_not(ferry: Scenario) -> None:
    """Three seconds at box 7, twelve races: seen there, against the average box, with the truth in it."""
    sample = made_up({7: 3.0}, 12, np.random.default_rng(3))
    table = cells(sample, ferry)
    seen = table[(table.line == "all") & (table.cost_s_holm < 0.05)]
    assert list(seen.box) == [7]
    truth = 3.0 * 23 / 24
    assert seen.cost_s_low.item() < truth < seen.cost_s_high.item()
    assert table.cost_s.sum() == pytest.approx(0, abs=1e-9)


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


def test_our_box_against_the_others_is_what_its_own_races_say(
    dual: Scenario, tmp_path: Path
) -> None:
    """Pair by pair from `run_race`: the same people, our box less the other; a round of the other boxes."""
    seeds = (1, 2)
    found = ours_elsewhere(dual, seeds, tmp_path / "races.db", workers=1)
    assert found is not None
    for s, seed in enumerate(seeds):
        pair = []
        for box in (2, 3):
            day = dual if box == 2 else with_team_placed(dual, "Millbrook", 3, "shortest")
            table = time_lost(run_race(day, seed))
            pair.append(table[(table.team == "Millbrook") & (table.checkpoint == "gate")])
            assert set(pair[-1].box) == {box}
        assert found.pairs.seconds[s, 0] == pytest.approx(
            pair[0].lost_s.mean() - pair[1].lost_s.mean()
        )
        assert found.pairs.places[s, 0] == pytest.approx(
            pair[0].place.mean() - pair[1].place.mean()
        )
    assert np.isnan(found.pairs.points).all(), "no points before the finish"
    assert found.table.cost_s_pairs.iloc[0] == 2
    assert ours_elsewhere(with_draw_again(dual), seeds, tmp_path / "x.db", workers=1) is None


def test_races_enough_for_whole_blocks(dual: Scenario, ferry: Scenario) -> None:
    """Twenty at least; the pairs a round of all other boxes, ten at least, and no more than the races."""
    assert whole_blocks(dual) == tuple(range(1, 21))
    assert whole_blocks(ferry) == tuple(range(1, 25))
    assert len(whole_blocks(ferry.changed({"field.fill": True, "start.empty": [1, 2]}))) == 22
    assert len(seeds_wanted(dual, whole_blocks(dual))) == 10
    assert len(seeds_wanted(ferry, whole_blocks(ferry))) == 23
    assert seeds_wanted(ferry, (1, 2)) == (1, 2)


def test_the_start_is_told_at_the_first_narrowing(dual: Scenario, ferry: Scenario) -> None:
    """The gate of the lane, the throat of the meadow; on an open field where the races end."""
    assert [first_mark(day) for day in (dual, ferry)] == [0, 0]
    late = ferry.changed(
        {"course.checkpoints": [{"name": "oak", "at": 90}, {"name": "b", "at": 400}]}
    )
    assert first_mark(late) == 1


def test_races_end_when_our_box_is_clear(
    dual: Scenario, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Values are those of the races; a planted 30 s is clear at the first of two looks; no box, no answer."""
    seeds = tuple(range(1, 21))
    day = dual.changed({"course.checkpoints": [{"name": "well", "at": "70 yd"}]})
    monkeypatch.setattr(samples, "FINE_ENOUGH_S", 0.0)
    sample = every_box(day, seeds, tmp_path / "races.db", workers=1)
    both = np.stack([sample.by_seed(box)[:, 0, 0] for box in (2, 3)])
    found = until_clear(day, seeds, tmp_path / "races.db", workers=1)
    expected = (both[0] - both.mean(axis=0))[: len(found.values)]
    assert np.allclose(found.values, expected)
    planted = sample.parts + 30.0 * (sample.box == 2)[:, :, None, None]
    moved = replace(sample, parts=planted)
    monkeypatch.setattr(samples, "every_box", lambda *_, **__: moved)
    assert len(until_clear(day, seeds, tmp_path / "x.db").values) == 10
    with pytest.raises(BadInput, match="with a box"):
        until_clear(dual.changed({"teams.Millbrook.ours": False}), (1,), tmp_path / "x.db")


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
