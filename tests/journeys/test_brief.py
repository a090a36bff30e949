"""`simrun brief`: one page out of an entry list and a box sheet; two plans; taken up again; mistakes."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from simrun.cli import main

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FEN, DUAL = (str(SCENARIOS / f"{name}.toml") for name in ("brindle_fen", "dual_meet"))
SHORT = ["--minutes", "0.01", "--workers", "1"]
WHOLE = ["--minutes", "0.05", "--workers", "1"]
"""Long enough for every question on the small course."""


@pytest.fixture(scope="module")
def dual(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("dual")
    assert main(["brief", DUAL, *WHOLE, "--quiet", "--out", str(folder)]) == 0
    return folder


@pytest.mark.slow
def test_one_page_in_the_order_in_which_a_coach_asks(
    dual: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Our box, the plan, the finish; every figure of the sentence stands in a table beside it."""
    assert main(["brief", DUAL, *WHOLE, "--out", str(dual)]) == 0
    said = capsys.readouterr().out
    sentence = said.splitlines()[0]
    page = (dual / "brief.html").read_text("utf-8")
    assert f">{sentence}</h1>" in page
    order = ["As drawn today", "lan", "Millbrook places"]
    assert [sentence.index(words) for words in order] == sorted(map(sentence.index, order))
    known = pd.concat([pd.read_csv(dual / f"{name}.csv") for name in ("brief", "brief_teams")])
    numbers = known.select_dtypes("number").to_numpy(float)
    numbers = numbers[np.isfinite(numbers)]
    told = {f"{abs(v):.1f}" for v in numbers} | {f"{abs(v):.0f}" for v in numbers}
    races = json.loads(_json(dual, capsys))["answers"][0]["figures"]["races"]
    won = pd.read_csv(dual / "brief_teams.csv")["wins_share"] * races
    told |= {f"{count:.0f}" for count in won} | {str(races)}
    for figure in re.findall(r"(?<![\w.])\d+(?:\.\d+)?(?=[ ,.)])", sentence):
        assert figure in told | {"2"} | _seconds_of_arms(page), figure


def _json(folder: Path, capsys: pytest.CaptureFixture[str]) -> str:
    assert main(["brief", DUAL, *WHOLE, "--json", "--out", str(folder)]) == 0
    return capsys.readouterr().out


def _seconds_of_arms(page: str) -> set[str]:
    """The seconds by which an opening is told otherwise, the number of plans and of races."""
    return (
        set(re.findall(r"going out (\d+\.\d) s", page))
        | set(re.findall(r"(\d+) races of", page))
        | {"4"}
    )


@pytest.mark.slow
def test_an_entry_list_and_a_box_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The papers as they come: all seven by name at every mark, ten ways raced, JSON with the tables."""
    assert (
        main(["brief", FEN, "--minutes", "0.5", "--workers", "1", "--json", "--out", str(tmp_path)])
        == 0
    )
    frame = json.loads(capsys.readouterr().out)["answers"][0]
    assert len(frame["figures"]["arms"]) == 10
    ours = pd.read_csv(tmp_path / "brief_ours.csv")
    assert len(ours) == 7 * 4
    assert ours["time_s_mean"].notna().all()
    table = pd.read_csv(tmp_path / "brief.csv")
    assert set(table["about"]) == {"box", "plan", "hangs on"}


@pytest.mark.slow
def test_two_plans_with_the_same_people(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What differs is told; a plan against itself is no difference; what cannot be compared is refused."""
    told = Path(DUAL).read_text("utf-8")
    other = tmp_path / "other.toml"
    other.write_text(told.replace("ours = true", "ours = true\nopening = 0.3", 1), "utf-8")
    words = ["brief", DUAL, str(other), *SHORT, "--out", str(tmp_path / "out")]
    assert main(words) == 0
    said = capsys.readouterr().out
    assert "opening: " in said
    assert "then 0.3" in said
    assert main(["brief", DUAL, DUAL, *SHORT, "--quiet", "--out", str(tmp_path / "same")]) == 0
    assert capsys.readouterr().out.startswith(
        "Between the two plans there is no difference that we can see."
    )
    assert (pd.read_csv(tmp_path / "same" / "brief.csv")["cost_s"] == 0).all()
    assert main(["brief", DUAL, FEN, *SHORT, "--out", str(tmp_path / "no")]) == 2
    assert "the same people" in capsys.readouterr().err
    assert main(["brief", DUAL, DUAL, DUAL, *SHORT, "--out", str(tmp_path / "no")]) == 2


@pytest.mark.slow
def test_more_minutes_go_on_where_fewer_ended(
    dual: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The races are kept: the same again runs none."""
    before = (dual / "brief_races.db").read_bytes()
    assert main(["brief", DUAL, *WHOLE, "--quiet", "--out", str(dual)]) == 0
    capsys.readouterr()
    assert (dual / "brief_races.db").read_bytes() == before
    with pytest.raises(SystemExit, match="2"):
        main(["brief", DUAL, "--minutes", "0", "--out", str(dual)])
    assert "minutes from 0.01" in capsys.readouterr().err
