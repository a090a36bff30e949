"""A track becomes a scenario that is checked and raced; a scenario becomes a card whose notes follow it."""

from __future__ import annotations

import json
import re
from pathlib import Path

import imageio.v3 as imageio
import pandas as pd
import pytest

import simrun
from simrun.answers.card.card_races import run_races, stations_of
from simrun.answers.course.words import TO_FILL_IN
from simrun.base.errors import BadInput
from simrun.cli import main
from simrun.measure.passing import SIT
from simrun.measure.stretches import stretches
from tests.helpers.worlds import scenario_of

TOP = Path(__file__).parents[2]
DUAL = str(TOP / "scenarios" / "dual_meet.toml")

TRACK = """<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="-35.2495" lon="-20.4985"><name>hay =1+1 &lt;b&gt; $x$</name></wpt>
<rte><name>farm</name>
<rtept lat="-35.25" lon="-20.5"><ele>4</ele></rtept><rtept lat="-35.25" lon="-20.498"><ele>9</ele></rtept>
<rtept lat="-35.249" lon="-20.497"><ele>2</ele></rtept></rte></gpx>
"""


def track(folder: Path) -> str:
    (folder / "farm.gpx").write_text(TRACK, encoding="utf-8")
    return str(folder / "farm.gpx")


def test_a_track_becomes_a_scenario_that_is_checked_and_raced(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It asks for the widths, marks what it assumed, and nothing is overwritten the second time."""
    out = tmp_path / "new"
    assert main(["course", track(tmp_path), "--out", str(out)]) == 0
    page = capsys.readouterr().out
    assert "cannot measure widths" in page
    assert {path.name for path in out.iterdir()} == {"farm.toml", "farm.geojson", "farm.png"}
    text = (out / "farm.toml").read_text("utf-8")
    assert all(TO_FILL_IN in line for line in text.splitlines() if line.startswith("width"))
    assert text.count("[[course.widths]]\n") == 3
    assert imageio.imread(out / "farm.png").shape[0] > 400
    assert main(["check", str(out / "farm.toml")]) == 0
    assert main(["race", str(out / "farm.toml"), "--no-gif", "--out", str(tmp_path / "race")]) == 0
    assert pd.read_csv(tmp_path / "race" / "loss.csv")["field_s"].notna().all()
    capsys.readouterr()
    assert main(["course", track(tmp_path), "--out", str(out)]) == 2
    assert "nothing is overwritten" in capsys.readouterr().err


def test_the_widths_that_are_filled_in_are_the_widths_of_the_course(tmp_path: Path) -> None:
    """30 m at the start, 30 m at 40 m, 4 m from 80 m on; even between."""
    assert main(["course", track(tmp_path), "--out", str(tmp_path / "new"), "--json"]) == 0
    file = tmp_path / "new" / "farm.toml"
    scenario = simrun.read(file)
    widths = [{"at": at, "width": width} for at, width in ((0, 30), (40, 30), (80, 4))]
    told = scenario.changed({"course.widths": widths, "start.width": 30})
    for at, width in ((20, 30.0), (60, 17.0), (250, 4.0)):
        left, right = (told.strip.point_at(at, share) for share in (0.0, 1.0))
        assert ((left[0] - right[0]) ** 2 + (left[1] - right[1]) ** 2) ** 0.5 == pytest.approx(
            width, abs=0.15
        )


@pytest.mark.parametrize(
    ("widths", "said"),
    [
        ([{"at": 50, "width": 6}, {"at": 10, "width": 6}], "in the order of the race"),
        ([{"at": 50}], "width"),
        ([{"at": 0, "width": 0.1}], "0.6"),
    ],
)
def test_wrong_widths_are_told(widths: list[dict[str, float]], said: str, tmp_path: Path) -> None:
    assert main(["course", track(tmp_path), "--out", str(tmp_path / "new"), "--json"]) == 0
    scenario = simrun.read(tmp_path / "new" / "farm.toml")
    with pytest.raises(BadInput, match=said):
        scenario.changed({"course.widths": widths})


@pytest.mark.parametrize(
    ("data", "words", "said"),
    [
        (b"", [], "empty"),
        (b"<!DOCTYPE gpx [<!ENTITY a 'b'>]><gpx>&a;</gpx>", [], "document type or entities"),
        (b"x" * 20_000_001, [], "larger than allowed; at most 20 MB"),
        (TRACK.encode(), ["--width", "400 m"], "width"),
        (TRACK.encode(), ["--width", "six"], "number of metres"),
        (TRACK.encode(), ["--from", "9000"], "at least 50 m"),
        (TRACK.encode(), ["--part", "7"], "--part"),
        (TRACK.encode(), ["--start-width", "60 m"], "told for a drawn line"),
    ],
)
def test_what_cannot_be_read_is_one_line_and_nothing_is_written(
    data: bytes, words: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "bad.gpx").write_bytes(data)
    try:
        code = main(["course", str(tmp_path / "bad.gpx"), "--out", str(tmp_path / "new"), *words])
    except SystemExit as left:
        code = int(left.code or 0)
    told = capsys.readouterr().err
    assert code == 2
    assert said in told
    assert told.count("\n") == 1
    assert not (tmp_path / "new").exists() or not list((tmp_path / "new").iterdir())


@pytest.mark.slow
def test_a_card_is_one_page_and_speaks_paces(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """HTML, PDF of one page on either paper, table; stopped and called again it keeps its races."""
    words = ["card", DUAL, "--seeds", "2", "--workers", "1", "--out", str(tmp_path), "--json"]
    assert main(words) == 0
    told = json.loads(capsys.readouterr().out)
    (answer,) = told["answers"]
    assert [row["stretch"] for row in answer["tables"]["card"]][:2] == ["village green", "gate"]
    assert answer["figures"]["races"] == 2
    page = (tmp_path / "card.html").read_text("utf-8")
    assert f"<h1>{answer['sentence']}</h1>" in page
    assert "/mile" in page
    assert "m/s" not in re.sub(r"base64,[^\"]*", "", page)
    pdf = (tmp_path / "card.pdf").read_bytes()
    assert re.findall(rb"/MediaBox \[ 0 0 (\d+) (\d+) \]", pdf) == [(b"612", b"792")]
    assert main([*words, "--paper", "a4", "--units", "metric"]) == 0
    pdf = (tmp_path / "card.pdf").read_bytes()
    assert re.findall(rb"/MediaBox \[ 0 0 (\d+)\.?\d* (\d+)\.?\d* \]", pdf) == [(b"595", b"841")]
    assert "/km" in (tmp_path / "card.html").read_text("utf-8")


def test_what_a_track_is_called_never_becomes_markup(tmp_path: Path) -> None:
    """A waypoint named like a formula and like HTML: escaped on the page, told in the table."""
    assert main(["course", track(tmp_path), "--out", str(tmp_path / "new"), "--json"]) == 0
    file = str(tmp_path / "new" / "farm.toml")
    assert (
        main(["card", file, "--seeds", "1", "--workers", "1", "--out", str(tmp_path), "--json"])
        == 0
    )
    page = (tmp_path / "card.html").read_text("utf-8")
    assert "&lt;b&gt;" in page
    assert "<b>" not in page
    assert "<rte>" in (tmp_path / "course.gpx").read_text("utf-8")


PATH = """
name = "Path"
[clock]
limit = "6 min"
[start]
width = 24
boxes = 8
box_width = 3
front_row = 3
[course]
[[course.pieces]]
piece = "straight"
name = "field"
length = 120
width = 24
[[course.pieces]]
piece = "narrowing"
name = "funnel"
length = 40
width = 8
[[course.pieces]]
piece = "straight"
name = "lane"
length = 100
[[course.pieces]]
piece = "trail"
name = "boardwalk"
length = 120
width = {width}
[[course.pieces]]
piece = "straight"
name = "bank"
length = 100
width = 8
[field]
fill = true
spread = "90 s"
time = "18:30"
ability = "normal"
[[teams]]
name = "Alderbrook"
box = 4
ours = true
"""


def test_the_notes_change_when_the_course_changes(tmp_path: Path) -> None:
    """The same path 1.2 m and 8 m wide: on the narrow one the card says to sit, on the wide one not.

    Nothing but the width differs, and the notes never look at it: they follow the simulated passing.
    """
    from simrun.answers.card.words import told

    words = {}
    for width in (1.2, 8.0):
        scenario = scenario_of(PATH.format(width=width), tmp_path)
        found = stretches(scenario.strip)
        races = run_races(
            scenario, stations_of(found), (1, 2), store=tmp_path / f"{width}.db", workers=1
        )
        rows = told(found, [races.passing(s.from_m, s.to_m) for s in found], "metric")
        words[width] = {row.stretch.name: row for row in rows}
    narrow, wide = words[1.2]["boardwalk"], words[8.0]["boardwalk"]
    assert narrow.word == SIT
    assert wide.word != SIT
    assert narrow.passing.open_share < wide.passing.open_share - 0.2
    assert "before the boardwalk" in words[1.2]["lane"].note
    assert "boardwalk" not in words[8.0]["bank"].note
