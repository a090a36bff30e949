"""simrun tactic: a plan in words, the pages that go with it, searched and taken up again."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from simrun.cli import main
from simrun.scenario.reader import read
from simrun.trials.store import Store

TOP = Path(__file__).parents[2]
DUAL = TOP / "scenarios" / "dual_meet.toml"
WORDS = ["--seeds", "2", "--fresh", "5", "--workers", "1", "--until", "200"]


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("tactic")
    assert main(["tactic", str(DUAL), *WORDS, "--out", str(folder)]) == 0
    return folder


def test_everything_promised_is_there(written: Path) -> None:
    names = {path.name for path in written.iterdir()}
    assert names == {
        "tactic.html",
        "tactic.csv",
        "payoff.png",
        "team.html",
        "team_a4.pdf",
        "team_letter.pdf",
        "tactic_races.db",
    }


def test_the_plan_is_a_paragraph_with_how_sure(
    written: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What to do, over how many fresh races, what would change it; called again it runs no race anew."""
    before = (written / "tactic_races.db").stat().st_mtime_ns
    assert main(["tactic", str(DUAL), *WORDS, "--out", str(written), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert re.search(r"Put .+ in the front row\. Go out at .+\.", told["plan"])
    assert "fresh races" in told["plan"]
    assert (written / "tactic_races.db").stat().st_mtime_ns == before


def test_the_teams_page_says_where_each_stands(written: Path) -> None:
    """Every runner with row, pace and places; plain text, nothing that a browser would run."""
    page = (written / "team.html").read_text("utf-8")
    _Whole().feed(page)
    rows = re.findall(
        r"<tr><td>(.*?)</td><td>(row \d, [^<]+)</td><td>(\d:\d\d /mile[^<]*)</td>", page
    )
    assert len(rows) == 10
    assert [where for _, where, _ in rows][:2] == ["row 1, leftmost", "row 1, 2nd from left"]
    assert "Left out" in page
    assert "m/s" not in page


@pytest.mark.parametrize(("paper", "size"), [("a4", b"595.44 841.68"), ("letter", b"612 792")])
def test_the_printed_page_is_one_sheet(written: Path, paper: str, size: bytes) -> None:
    """One page of the size that it is named for, in points."""
    data = (written / f"team_{paper}.pdf").read_bytes()
    assert data.startswith(b"%PDF")
    assert data.count(b"/Type /Page ") == 1
    assert size in data


def test_a_hostile_name_stays_text(tmp_path: Path) -> None:
    """A runner called like a script is shown, not run, and a cell with = is no formula."""
    day = read(DUAL).changed(
        {"teams.Millbrook.people": [{"name": "<img src=x onerror=alert(1)>"}, {"name": "=1+1"}]}
    )
    from simrun.answers.tactic.run import Budget, run_tactic

    run_tactic(day, tmp_path, None, Budget(1, (5,)), until_m=130, workers=1)
    for page in ("tactic.html", "team.html"):
        text = (tmp_path / page).read_text("utf-8")
        assert "<img src=x" not in text
        assert "&lt;img src=x" in text
    assert "\n=1+1" not in (tmp_path / "tactic.csv").read_text("utf-8")


@pytest.mark.slow
def test_the_search_tries_each_turn_and_is_taken_up_again(tmp_path: Path) -> None:
    """Four trials with one seed: kept in the store, and the same plan when asked again."""
    words = ["tactic", str(DUAL), "--seeds", "1", "--fresh", "5", "--workers", "1", "--trials", "4"]
    plans = []
    for _ in range(2):
        assert main([*words, "--out", str(tmp_path), "--json"]) == 0
        with Store(tmp_path / "tactic_races.db") as store:
            plans.append((store.content_digest(), (tmp_path / "team.html").read_bytes()))
    assert plans[0] == plans[1]


def test_bad_words_are_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["tactic", str(DUAL), "--team", "Milbrook", "--out", str(tmp_path)]) == 2
    assert "did you mean 'Millbrook'" in capsys.readouterr().err
    with pytest.raises(SystemExit):
        main(["tactic", str(DUAL), "--fresh", "3"])
    assert "at least 5" in capsys.readouterr().err


class _Whole(HTMLParser):
    """Fails on a tag that is closed without having been opened."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in ("meta", "img", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag
