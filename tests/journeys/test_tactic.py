"""simrun tactic: a plan in words, the pages that go with it, searched and taken up again."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

from simrun.answers.tactic.page import sheet_of
from simrun.answers.tactic.run import run_tactic
from simrun.answers.tactic.tactic_steps import Budget
from simrun.cli import main
from simrun.pages.frame import write_page
from simrun.pictures.charts.team_sheet import TeamCard
from simrun.scenario.reader import read
from simrun.trials.store import Store

TOP = Path(__file__).parents[2]
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
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
    (told,) = json.loads(capsys.readouterr().out)["answers"]
    assert re.fullmatch(r"Put .+ in the front row(;| and) go out .+\.", told["sentence"])
    plan = told["figures"]["plan"]
    assert plan.startswith(told["sentence"])
    assert "Over 5 fresh races" in plan
    assert set(told["figures"]["openings"]) == {row["runner"] for row in told["tables"]["tactic"]}
    assert (written / "tactic_races.db").stat().st_mtime_ns == before


def test_the_teams_page_says_where_each_stands(written: Path) -> None:
    """Every runner with row, pace and places; plain text, nothing that a browser would run."""
    page = (written / "team.html").read_text("utf-8")
    _Whole().feed(page)
    rows = re.findall(
        r'<tr><td class="left">(.*?)</td><td class="left">(row \d, [^<]+)</td>'
        r'<td class="left">(\d:\d\d /mile[^<]*)</td>',
        page,
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


def sheets(file: Path, paper: str) -> int:
    """On how many sheets does a browser print the page?"""
    with sync_playwright() as engine:
        browser = engine.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        page = browser.new_page()
        page.goto(file.as_uri())
        printed = page.pdf(format=paper, print_background=True)
        browser.close()
    return len(re.findall(rb"/Type\s*/Page[^s]", printed))


def crowded(runners: int, marks: int) -> TeamCard:
    """A page with long names, a turn and a landmark at every mark."""
    row = ("Philippa Featherstonehaugh", "row 3, 4th from left", "2:54 /km (+24 %)", "3:36 /km")
    head = (
        "runner",
        "stands",
        "go out",
        "then",
        *(f"at ridge path, lap {m}" for m in range(marks)),
    )
    hold = "Hold the opening pace for 200 m, then ease to race pace over the next 200 m."
    move = (
        "Smithy corner, lap 2 to ridge path, lap 3 (beehives, hay wagon): closed, hold your place; "
        "traffic +0.4 s per 100 m; 12 places lost."
    )
    return TeamCard(
        title="Alderbrook: Ferry Meadow farm race, two laps",
        box="Invented world. Box 17, counted from the left facing the course.",
        head=(*head, "finish"),
        runners=(row + ("104 to 111",) * (marks + 1),) * runners,
        lines=(hold, *["At the corner behind the barn: outside."] * marks),
        moves=(move,) * marks,
        outcome=("With this plan our first five lose 1.6 to 2.9 s by the last field.",) * 2,
        left_out="Left out: falls, elbows and spectators. " * 6,
    )


SENTENCE = (
    "Philippa, Oren, Sela and Nesis in the front row. Go out at your own pace below, take the corner behind "
    "the barn on the inside and all others on the outside."
)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_teams_page_prints_on_one_sheet(written: Path, tmp_path: Path, paper: str) -> None:
    """The page of the dual meet; seven runners by nine marks, the longest shipped; and more runners."""
    assert sheets(written / "team.html", paper) == 1
    for runners, marks in ((7, 9), (10, 6), (12, 4)):
        page = sheet_of(crowded(runners, marks), SENTENCE)
        assert sheets(write_page(page, tmp_path / "team.html"), paper) == 1, (runners, marks)


def test_a_hostile_name_stays_text(tmp_path: Path) -> None:
    """A runner called like a script is shown, not run, and a cell with = is no formula."""
    day = read(DUAL).changed(
        {"teams.Millbrook.people": [{"name": "<img src=x onerror=alert(1)>"}, {"name": "=1+1"}]}
    )
    run_tactic(day, tmp_path, None, Budget(1, (5,)), until_m=130, workers=1).save()
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
