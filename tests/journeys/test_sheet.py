"""The sheet for the clipboard: asked for, written, opened; its figures stand in the tables beside it."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from simrun.answers.sheet.charts import sheet_on
from simrun.answers.sheet.result import SheetResult
from simrun.answers.sheet.run import run_sheet
from simrun.answers.sheet.sheet_records import SheetFigures
from simrun.answers.sheet.words import foot_of
from simrun.cli import main
from simrun.pictures.charts.clipboard import MARGIN_IN
from simrun.pictures.charts.sheet_paper import Paper
from simrun.scenario.reader import read
from tests.helpers.labels import outside, overlapping, texts_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FEN = SCENARIOS / "brindle_fen.toml"
DUAL = SCENARIOS / "dual_meet.toml"


@pytest.fixture(scope="module")
def fen(tmp_path_factory: pytest.TempPathFactory) -> SheetResult:
    """Two races of the entry list, in a folder with everything written."""
    folder = tmp_path_factory.mktemp("fen")
    result = run_sheet(read(FEN), folder, seeds=(1, 2), workers=1)
    result.save()
    return result


@pytest.fixture(scope="module")
def letter(fen: SheetResult) -> Paper:
    """The same as it is drawn."""
    return sheet_on(fen.found, "Letter")


# --- every figure in the tables ---

NUMBER = re.compile(r"\d+:\d\d(?:\N{EN DASH}(?:\d+:)?\d\d)?|\d+(?:\.\d+)?")


class _Words(HTMLParser):
    """The words of a page, without its style."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.hidden = False

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.hidden = tag == "style"

    def handle_endtag(self, tag: str) -> None:
        self.hidden = False

    def handle_data(self, data: str) -> None:
        if not self.hidden:
            self.words.append(data)


def words_of(page: Path) -> str:
    parser = _Words()
    parser.feed(page.read_text("utf-8"))
    return " ".join(parser.words)


def clock(seconds: float) -> str:
    return f"{round(seconds) // 60}:{round(seconds) % 60:02d}"


def race_time(seconds: float) -> str:
    return f"{seconds:.1f}" if round(seconds, 1) < 60 else clock(seconds)


def said_of(value: float) -> set[str]:
    """As what may a figure of a table be said? Whole, to a tenth, of ten, as a time."""
    if not np.isfinite(value):
        return set()
    size = abs(value)
    return {f"{round(size)}", f"{size:.1f}", f"{10 * size:.0f}", clock(size)}


def known_figures(folder: Path) -> set[str]:
    """Everything that may be said by the tables in this folder."""
    known: set[str] = set()
    for file in folder.glob("*.csv"):
        table = pd.read_csv(file)
        for column in table.select_dtypes("number"):
            for value in table[column].dropna():
                known |= said_of(float(value))
    return known


def strange_figures(text: str, known: set[str]) -> list[str]:
    """Which figures of a text are in no table? "0:58-1:01" and "0:57-59" are two times each."""
    strange = []
    for found in NUMBER.findall(text):
        low, dash, high = found.partition("\N{EN DASH}")
        ends = [low, high if ":" in high else f"{low.split(':')[0]}:{high}"] if dash else [low]
        strange += [end for end in ends if end not in known]
    return strange


def test_every_figure_of_the_sheet_and_of_the_phone_page_stands_in_a_table(
    fen: SheetResult, letter: Paper
) -> None:
    """And a figure that is changed in the text is found out."""
    known = known_figures(fen.folder)
    paper = " ".join(text for text, _ in letter.written)
    phone = words_of(fen.folder / "sheet.html")
    for text in (paper, phone, fen.text):
        assert len(NUMBER.findall(text)) > 10
        assert strange_figures(text, known) == []
    first = f"{fen.tables['sheet_box']['ahead_m'][0]:.0f}"
    assert first in paper
    assert strange_figures(paper.replace(first, "1757"), known) == ["1757"] * paper.count(first)


def test_the_times_of_each_of_ours_stand_under_their_name(fen: SheetResult) -> None:
    """Cell by cell: the phone's table of a runner is that runner's rows of the CSV."""
    page = (fen.folder / "sheet.html").read_text("utf-8")
    table = pd.read_csv(fen.folder / "sheet.csv")
    for name, rows in table.groupby("runner"):
        part = page[page.index(f"<summary>{name}</summary>") :]
        part = part[: part.index("</table>")]
        cells = re.findall(r"<tr[^>]*>(.*?)</tr>", part, flags=re.DOTALL)[1:]
        told = [re.findall(r"<td[^>]*>(.*?)</td>", row)[1:] for row in cells]
        assert len(told) == len(rows)
        for (middle, band, place), row in zip(told, rows.itertuples(), strict=True):
            assert middle == race_time(row.time_middle_s)
            assert not band or band.startswith(race_time(row.time_low_s))
            assert place.split("\N{EN DASH}")[0] == str(round(row.place_low))


def test_no_percentage_stands_on_an_athletes_page(fen: SheetResult, letter: Paper) -> None:
    paper = " ".join(text for text, _ in letter.written)
    for text in (paper, words_of(fen.folder / "sheet.html")):
        assert "%" not in text
        assert "per cent" not in text


def test_the_middle_lies_within_its_range_and_the_marks_come_later_and_later(
    fen: SheetResult,
) -> None:
    table = fen.tables["sheet"]
    assert (table["time_low_s"] <= table["time_middle_s"]).all()
    assert (table["time_middle_s"] <= table["time_high_s"]).all()
    for _, rows in table.groupby("runner"):
        assert (np.diff(rows["time_middle_s"]) > 0).all()


# --- on paper ---


def crowded(found: SheetFigures) -> SheetFigures:
    """The same sheet with names nobody has room for, and every mark with the longest words."""
    who = tuple(
        replace(one, short=f"Wilhelmina-{one.short}", name=f"Wilhelmina-{one.name}")
        for one in found.stand.who
    )
    stand = replace(
        found.stand, who=who, left="Saint Bartholomew", right="Upper Ravensdale-on-Moor"
    )
    marks = tuple(
        replace(told, mark=replace(told.mark, name=f"{told.mark.name} beyond the long wall"))
        for told in found.marks
    )
    return replace(found, stand=stand, marks=marks)


@pytest.mark.parametrize(
    ("paper", "names"),
    [
        ("Letter", "own"),
        pytest.param("A4", "own", marks=pytest.mark.slow),
        pytest.param("Letter", "long", marks=pytest.mark.slow),
    ],
)
def test_no_text_lies_over_another_or_beyond_the_margin_or_is_too_small(
    fen: SheetResult, letter: Paper, paper: str, names: str
) -> None:
    """Measured on the drawn letters; and one page."""
    found = fen.found if names == "own" else crowded(fen.found)
    sheet = letter if (paper, names) == ("Letter", "own") else sheet_on(found, paper)
    texts = texts_of(sheet.figure)
    assert overlapping(texts) == []
    assert outside(sheet.figure, texts, MARGIN_IN - 0.02) == []
    assert min(size for *_, size in texts) >= 8.0
    assert len(re.findall(rb"/Type\s*/Page[^s]", sheet.pdf())) == 1


def test_with_seven_names_the_text_is_nine_points_or_more(fen: SheetResult, letter: Paper) -> None:
    """What is said under a mark, and the times; the ranges below them are smaller."""
    sizes = {text: size for text, _, size in texts_of(letter.figure)}
    first = race_time(float(fen.tables["sheet"]["time_middle_s"][0]))
    assert sizes[first] >= 9.0
    assert sizes["tea tent"] >= 9.0


def test_the_sheet_is_the_same_to_the_byte(fen: SheetResult, letter: Paper) -> None:
    """The file that was written, and one made anew."""
    written = (fen.folder / "sheet_letter.pdf").read_bytes()
    assert letter.pdf() == written


# --- asked for ---


@pytest.mark.slow
def test_several_squads_have_a_sheet_each(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two teams of one race: a folder each, with their own names in their own boxes; units by option."""
    words = ["sheet", str(DUAL), "--team", "Millbrook", "--team", "Thornwick", "--seeds", "2"]
    words += ["--workers", "1", "--units", "us", "--out", str(tmp_path), "--json"]
    assert main(words) == 0
    answers = json.loads(capsys.readouterr().out)["answers"]
    assert [answer["subject"].split(":")[0] for answer in answers] == ["Millbrook", "Thornwick"]
    assert {path.name for path in tmp_path.iterdir()} == {"millbrook", "thornwick"}
    boxes = {
        team: pd.read_csv(tmp_path / team / "sheet_box.csv")["box"].unique().tolist()
        for team in ("millbrook", "thornwick")
    }
    assert boxes == {"millbrook": [2], "thornwick": [3]}
    assert "yd" in words_of(tmp_path / "millbrook" / "sheet.html")


def test_a_team_that_is_not_there_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["sheet", str(DUAL), "--team", "Milbrook", "--seeds", "2", "--out", str(tmp_path)]
    assert main(words) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "Millbrook" in told
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
def test_two_races_of_an_entry_list_have_a_sheet_each(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Girls and boys of the same schools, in one list: each sheet has its own seven."""
    entries = pd.read_csv(SCENARIOS / "brindle_fen_entries.csv")
    entries["Race"] = np.where(np.arange(len(entries)) % 2, "JV", "Varsity")
    entries.to_csv(tmp_path / "brindle_fen_entries.csv", index=False)
    for name in ("brindle_fen.toml", "brindle_fen_boxes.csv"):
        text = (SCENARIOS / name).read_text("utf-8").replace(",7\n", ",3\n")
        text = text.replace("[field]\n", '[field]\nrace = "Varsity"\n')
        (tmp_path / name).write_text(text, encoding="utf-8")
    out = tmp_path / "out"
    words = ["sheet", str(tmp_path / "brindle_fen.toml"), "--race", "Varsity", "--race", "JV"]
    assert main([*words, "--seeds", "1", "--workers", "1", "--out", str(out), "--json"]) == 0
    capsys.readouterr()
    seven = {
        folder.name: set(pd.read_csv(folder / "sheet_box.csv")["runner"])
        for folder in out.iterdir()
    }
    assert set(seven) == {"varsity_ellerfold", "jv_ellerfold"}
    listed = entries[entries["School"] == "Ellerfold"].groupby("Race")["Name"].agg(set)
    assert seven == {"varsity_ellerfold": listed["Varsity"], "jv_ellerfold": listed["JV"]}


def test_a_race_of_a_day_that_has_only_one_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["sheet", str(FEN), "--race", "JV", "--seeds", "1", "--out", str(tmp_path)]
    assert main(words) == 2
    assert "one race only" in capsys.readouterr().err


def test_who_has_no_name_on_paper_is_the_same_person_in_every_race(tmp_path: Path) -> None:
    """Made up, and said to be: the names of the box are those of the first seed, fastest first."""
    found = run_sheet(read(DUAL), tmp_path, seeds=(1, 2), workers=1).found
    assert not found.named
    assert "made up" in " ".join(foot_of(found))
    middle = [band.middle for band in found.marks[-1].time_s]
    assert np.corrcoef(middle, np.arange(len(middle)))[0, 1] > 0.8


@pytest.mark.slow
def test_ten_runners_four_abreast_have_room_too(tmp_path: Path) -> None:
    """In yards: no text over another, none beyond the margins, none below 8 pt, and no two names alike."""
    found = run_sheet(read(DUAL), tmp_path, seeds=(1, 2), workers=1).found
    sheet = sheet_on(found, "Letter")
    texts = texts_of(sheet.figure)
    assert overlapping(texts) == []
    assert outside(sheet.figure, texts, MARGIN_IN - 0.02) == []
    assert min(size for *_, size in texts) >= 8.0
    assert not any("\N{HORIZONTAL ELLIPSIS}" in text for text, *_ in texts)


@pytest.mark.slow
def test_where_to_be_is_told_before_a_gap_and_not_on_a_course_that_never_closes_down(
    tmp_path: Path,
) -> None:
    """Placebo: the same 24 runners before a gate of 2 yd, and with gate and path as wide as the green."""
    told = {}
    for gate, path in (("2 yd", "3 yd"), ("24 yd", "24 yd")):
        widths = {"course.pieces.gate.width": gate, "course.pieces.tow path.width": path}
        day = read(DUAL).changed({"field.runners": 12, **widths})
        found = run_sheet(day, tmp_path / gate, seeds=(1, 2, 3, 4), workers=1).found
        told[gate] = [each.mark.name for each in found.marks if each.free_place]
    assert told == {"2 yd": ["well"], "24 yd": []}
