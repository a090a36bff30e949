"""simrun tactic: a plan in words, the pages that go with it, searched and taken up again."""

from __future__ import annotations

import html
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pandas as pd
import pytest
from playwright.sync_api import sync_playwright

from simrun.answers.tactic.page import sheet_of
from simrun.answers.tactic.run import run_tactic
from simrun.answers.tactic.search.tactic_steps import Budget
from simrun.cli import main
from simrun.pages.frame import write_page
from simrun.pictures.charts.team_sheet import TeamCard
from simrun.scenario.reader import read
from simrun.trials.store import Store

pytestmark = pytest.mark.slow

TOP = Path(__file__).parents[2]
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
DUAL = TOP / "scenarios" / "dual_meet.toml"
WORDS = ["--seeds", "2", "--fresh", "5", "--workers", "1"]


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
        "tactic_orders.csv",
        "tactic_choices.csv",
        "tactic_rivals.csv",
        "plan.toml",
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
    plan = told["figures"]["plan"]
    assert plan.startswith(told["sentence"])
    assert "Over 5 fresh races" in plan
    assert set(told["figures"]["openings"]) == {row["runner"] for row in told["tables"]["tactic"]}
    assert " % faster" not in plan
    assert (written / "tactic_races.db").stat().st_mtime_ns == before


def test_the_plan_on_paper_is_a_race_day(written: Path) -> None:
    """plan.toml read again: racing on, everybody's opening told, and nothing else of the day changed."""
    day, plan = read(DUAL), read(written / "plan.toml")
    assert plan.field.racing == "on"
    ours = next(team for team in plan.teams if team.ours)
    orders = pd.read_csv(written / "tactic_orders.csv")
    assert {p.name for p in ours.people} == set(orders.runner)
    assert all(person.opening is not None for person in ours.people)
    assert set(ours.lines.values()) == set(orders["line at mill corner"])
    assert plan.start == day.start
    assert plan.strip.length_m == day.strip.length_m
    roster = plan.roster(1)
    assert {
        n for n, mine in zip(roster.name, roster.team == ours.name, strict=True) if mine
    } == set(orders.runner)


def test_every_figure_of_an_order_stands_in_the_table(written: Path) -> None:
    """Seconds and places of every runner's line are those of tactic_orders.csv."""
    orders = pd.read_csv(written / "tactic_orders.csv", keep_default_na=False)
    page = html.unescape((written / "tactic.html").read_text("utf-8"))
    lines = re.findall(r"<p>([^<:]+): ([^<]*150 yd stake[^<]*)</p>", page)
    assert [name for name, _ in lines] == list(orders.runner)
    for (_, said), (_, row) in zip(lines, orders.iterrows(), strict=True):
        at_stake, _, rest = said.replace("150 yd", "").partition("stake")
        known = [row.told_s, row.low_s, row.high_s]
        known = {f"{s:.0f}" for s in known} | {f"{s:.1f}" for s in known}
        places = {f"{row.gate_low:.0f}", f"{row.gate_high:.0f}"}
        figures = re.findall(r"(\d+(?:\.\d)?)(st|nd|rd|th)?", at_stake + rest)
        assert figures
        for number, place in figures:
            assert number in (places if place else known), (said, number)


def test_no_percentage_on_the_athletes_page(written: Path) -> None:
    """Seconds at the stake for everybody, and no share of anything."""
    page = (written / "team.html").read_text("utf-8")
    body = page[page.index("<body") :]
    assert "150 yd stake" in body
    assert "%" not in body


def test_the_teams_page_says_where_each_stands(written: Path) -> None:
    """Every runner with row, pace and places; plain text, nothing that a browser would run."""
    page = (written / "team.html").read_text("utf-8")
    _Whole().feed(page)
    rows = re.findall(
        r'<tr><td class="left">(.*?)</td><td class="left">(row \d, [^<]+)</td>'
        r'<td class="left">([^<]* s(?:, flat out)?)</td>',
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
    row = (
        "Philippa Featherstonehaugh",
        "row 3, 4th from left",
        "as you like, 29 to 38 s",
        "3:36 /km",
    )
    head = (
        "runner",
        "stands",
        "at the 200 m stake",
        "then",
        *(f"at ridge path, lap {m}" for m in range(marks)),
    )
    hold = "Sit on the boardwalk, go at the water trough beyond the gate."
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
        outcome=("With this plan our first five finish in 7:41.2 to 7:52.9 on average.",) * 2,
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
    run_tactic(day, tmp_path, None, Budget(1, (5,)), workers=1).save()
    for page in ("tactic.html", "team.html"):
        text = (tmp_path / page).read_text("utf-8")
        assert "<img src=x" not in text
        assert "&lt;img src=x" in text
    assert "\n=1+1" not in (tmp_path / "tactic.csv").read_text("utf-8")


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
