"""The director: layouts swept and searched, stopped and taken up again, one page out."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pandas as pd
import pytest

from simrun.cli import main
from simrun.pages.cautions import CAUTION
from simrun.trials.store import Store

TOP = Path(__file__).parents[2]
DUAL = str(TOP / "scenarios" / "dual_meet.toml")
FEW = ["--seeds", "4", "--until", "140", "--workers", "1"]
SWEEP = ["--vary", "throat=3:5:1", "--vary", "straight=90:130:40", "--units", "metric"]


def kept(folder: Path) -> set[tuple[str, int]]:
    with Store(folder / "layout_races.db") as store:
        return store.kept()


@pytest.fixture(scope="module")
def swept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sweep of 3 x 2 layouts in one go."""
    folder = tmp_path_factory.mktemp("swept")
    assert main(["layout", DUAL, *SWEEP, *FEW, "--out", str(folder)]) == 0
    return folder


def test_a_sweep_leaves_one_page_a_table_maps_and_stakes(swept: Path) -> None:
    """Every layout at every checkpoint; the page holds its pictures and the standing caution."""
    page = (swept / "layout.html").read_text("utf-8")
    assert page.count(CAUTION) == 1
    assert page.count("<img ") == 4
    assert 'src="data:image/png' in page
    assert "http" not in page.replace("http-equiv", "")
    words = re.sub(r"base64,[^\"]*", "", page).lower()
    assert not re.search(r"\bsafe\b", words)
    assert "walking crowds, not from runners" in words
    table = pd.read_csv(swept / "layout.csv")
    assert table.layout.nunique() == 7
    assert sorted(table.throat.round(2).unique()) == [3.0, 3.66, 4.0, 5.0]
    assert (table.crowd_density_per_m2 > 0).all()
    stakes = pd.read_csv(swept / "stakes.csv")
    assert list(stakes.point[:5]) == [
        "middle peg",
        "sighting mark",
        "left peg",
        "right peg",
        "stake 1",
    ]
    assert stakes.point.str.startswith("stake ").sum() == 5
    assert list(stakes.point[9:]) == ["gun", "gate, left edge", "gate, right edge"]
    for name in ("layout_weighed.png", "layout_map.png", "start_now.png"):
        assert (swept / name).read_bytes().startswith(b"\x89PNG")


def test_the_fairest_of_the_table_is_told_with_its_price(swept: Path) -> None:
    """The page's words and the table agree; nothing is better, so the stakes are of the line as it is."""
    table = pd.read_csv(swept / "layout.csv")
    here = table[(table.checkpoint == "first narrowing") & (table.layout > 1)]
    best = here.loc[here.unfairness_s.idxmin()]
    page = (swept / "layout.html").read_text("utf-8")
    assert "<h1>None of the 6 layouts raced is better than the line as it is" in page.replace(
        '<h1 class="long">', "<h1>"
    )
    told = re.search(
        r"The fairest by itself, narrowing width ([\d.]+) m, straight to where it is narrow (\d+) m: boxes: ",
        page,
    )
    assert told is not None
    assert [float(part) for part in told.groups()] == [best.throat, best.straight]
    assert "Stakes: as it is" in page
    assert (here.extra_m_farthest_box > 0).all()


@pytest.mark.slow
def test_a_sweep_goes_on_where_it_was(swept: Path, tmp_path: Path) -> None:
    """A smaller sweep first, then the whole: only what is missing is raced, and the table is the same."""
    part = ["--vary", "throat=3,4", "--vary", "straight=90"]
    assert main(["layout", DUAL, *part, *FEW, "--out", str(tmp_path)]) == 0
    before = kept(tmp_path)
    assert len(before) == 12
    assert main(["layout", DUAL, *SWEEP, *FEW, "--out", str(tmp_path)]) == 0
    assert before < kept(tmp_path) == kept(swept)
    assert (tmp_path / "layout.csv").read_bytes() == (swept / "layout.csv").read_bytes()


@pytest.mark.slow
def test_a_search_checks_on_fresh_seeds_and_says_what_a_change_gains(
    swept: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The front was raced with seeds that the search never met; called again it races nothing."""
    shutil.copy(swept / "layout_races.db", tmp_path)
    words = ["layout", DUAL, *SWEEP, *FEW, "--search", "5", "--out", str(tmp_path), "--json"]
    assert main(words) == 0
    (told,) = json.loads(capsys.readouterr().out)["answers"]
    assert told["written"]
    assert told["sentence"].startswith("All changes together")
    assert told["tables"]["layout"][0]["layout"] == 1
    page = (tmp_path / "layout.html").read_text("utf-8")
    assert "Layouts that nothing beats" in page
    assert "All changes together" in page
    fresh = {seed for _, seed in kept(tmp_path)} - {1, 2, 3, 4}
    assert fresh == {1_000_001, 1_000_002, 1_000_003, 1_000_004}
    races = kept(tmp_path)
    assert main(words) == 0
    assert kept(tmp_path) == races
    assert (tmp_path / "layout.html").read_text("utf-8") == page


def test_a_search_moves_turns_and_bows_the_line(tmp_path: Path) -> None:
    """Place, tilt and bow at once, on the green that is 4.6 m wider than its line."""
    ranges = ["sideways=-2 m:2 m:2 m", "tilt=-3,0,3", "arc=straight,arc"]
    vary = [word for one in ranges for word in ("--vary", one)]
    few = ["--seeds", "2", "--workers", "1", "--until", "140", "--quiet"]
    words = ["layout", DUAL, *vary, *few, "--search", "4", "--out", str(tmp_path)]
    assert main(words) == 0
    with Store(tmp_path / "layout_races.db") as store:
        raced = [json.loads(text)["document"]["start"] for text in store.arms().values()]
    assert {abs(start.get("sideways", 0.0)) for start in raced} == {0.0, 2.0}
    assert {abs(start.get("tilt", 0.0)) for start in raced} == {0.0, 3.0}
    told = r"moved( [\d.]+ ft to the \w+)?, turned 3\.0 degrees to the \w+, (arc|straight line)"
    assert re.search(told, (tmp_path / "layout.html").read_text("utf-8"))


def test_without_anything_to_vary_the_present_layout_is_told(tmp_path: Path) -> None:
    """Its fairness and its stakes, in feet and inches where the page speaks so."""
    words = ["layout", DUAL, "--seeds", "1", "--until", "140", "--workers", "1"]
    assert main([*words, "--units", "us", "--out", str(tmp_path)]) == 0
    page = (tmp_path / "layout.html").read_text("utf-8")
    assert "Stakes: as it is" in page
    assert " ft " in page
    assert "One race cannot say how far apart the boxes lie" in page


def test_the_line_aimed_at_a_gate_is_raced_and_staked_out(tmp_path: Path) -> None:
    """The tilted arc of `check` beside the line as it is: its stakes, and the exact metres it saves."""
    few = ["--seeds", "2", "--workers", "1", "--until", "140", "--quiet"]
    assert main(["layout", DUAL, *few, "--aim", "finish", "--out", str(tmp_path)]) == 0
    table = pd.read_csv(tmp_path / "layout.csv").groupby("layout").first()
    assert table.extra_m_farthest_box.tolist() == pytest.approx([0.69, 0.0], abs=0.01)
    assert table.tilt[2] == pytest.approx(3.6, abs=0.1)
    stakes = pd.read_csv(tmp_path / "stakes.csv")
    assert (
        "50.00 m ahead of the middle peg, go 3.15 m to the left" in stakes.where_it_stands.str.cat()
    )
    assert "turned 3.6 degrees to the left" in (tmp_path / "layout.html").read_text("utf-8")


@pytest.mark.slow
def test_fairness_is_told_where_the_director_wants_it(tmp_path: Path) -> None:
    """At a checkpoint beyond the end asked for the races go on to it; at the finish points are told too."""
    few = ["--seeds", "4", "--workers", "1", "--until", "140", "--quiet"]
    mile, end = tmp_path / "mile", tmp_path / "end"
    assert main(["layout", DUAL, *few, "--at", "quarter mile", "--out", str(mile)]) == 0
    marks = pd.read_csv(mile / "layout.csv")
    assert marks.checkpoint.tolist()[-1] == "quarter mile"
    assert "points_between" not in marks
    crowd = pd.read_csv(mile / "layout_crowd.csv")
    assert crowd.to_m.max() == pytest.approx(440 * 0.9144)
    assert crowd.queue_s.sum() == pytest.approx(marks.crowd_queue_s.iloc[0], abs=1e-4)
    assert main(["layout", DUAL, *few, "--at", "finish", "--out", str(end)]) == 0
    finish = pd.read_csv(end / "layout.csv").iloc[-1]
    assert finish.checkpoint == "finish"
    assert finish.points_between >= 0
    page = (end / "layout.html").read_text("utf-8")
    assert "at the finish, and " in page
    assert "The crowd, place by place" in page


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--vary", "widht=1:2:1"], "did you mean 'width'"),
        (["--vary", "arc=3"], "full arc"),
        (["--vary", "box-width=0.5", "--vary", "front-row=12"], "side by side"),
        (["--search", "3"], "nothing that may move"),
        (["--aim", "gaet"], "did you mean 'gate'"),
        (["--aim", "gate", "--vary", "arc=arc"], "one or the other"),
        (["--at", "quarter mil"], "did you mean 'quarter mile'"),
        (["--vary", "throat=4", "--until", "0"], "course.checkpoints"),
    ],
)
def test_a_mistake_is_one_line(
    words: list[str], told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 2, no traceback, and no page."""
    asked = ["--seeds", "2", "--until", "100", *words, "--out", str(tmp_path)]
    assert main(["layout", DUAL, *asked]) == 2
    said = capsys.readouterr().err.strip().splitlines()
    assert told in said[-1]
    assert not (tmp_path / "layout.html").exists()


def test_an_end_before_the_line_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A length below zero is refused at the door."""
    with pytest.raises(SystemExit) as stopped:
        main(["layout", DUAL, "--vary", "throat=4", "--until", "-5", "--out", str(tmp_path)])
    assert stopped.value.code == 2
    assert "'-5'" in capsys.readouterr().err
    assert not (tmp_path / "layout.html").exists()
