"""simrun side: a sentence, tables with its figures, a page; from an entry list with a box sheet too."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pandas as pd
import pytest

from simrun.cli import main
from simrun.scenario.reader import read

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FEN = SCENARIOS / "brindle_fen.toml"
WORDS = ["--seeds", "2", "--workers", "1"]


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A team of the entry list that drew a box far from the good side."""
    folder = tmp_path_factory.mktemp("side")
    day = read(FEN)
    far = next(team for team in day.teams if team.box == 1)
    words = ["side", str(FEN), "--team", far.name, *WORDS, "--out", str(folder)]
    assert main(words) == 0
    return folder


def test_everything_promised_is_there(written: Path) -> None:
    assert {path.name for path in written.iterdir()} == {
        "side.html",
        "side.png",
        "side.csv",
        "side_ours.csv",
        "side_where.csv",
        "side_races.db",
    }
    assert set(pd.read_csv(written / "side.csv").box) == set(range(1, 15))


def test_the_figures_of_the_sentence_stand_in_the_tables(written: Path) -> None:
    """Of ten on the good side, as on paper and told to cross; the last place to cross."""
    page = html.unescape((written / "side.html").read_text("utf-8"))
    ours = pd.read_csv(written / "side_ours.csv").set_index("order").good_side
    where = pd.read_csv(written / "side_where.csv")
    (alone, told) = re.findall(r"(\d+) of ten(?: \([^)]*\))? (?:of ours reach|when told)", page)[:2]
    assert int(alone) == round(10 * ours["as on paper"])
    assert int(told) == round(10 * ours["cross"])
    at, share = re.findall(r"[Ff]rom (\d+) m[^:]*?[:,][^:]*?(\d+) of ten", page)[0]
    row = where[where.at_m == float(at)].iloc[0]
    assert int(share) == round(10 * row.gets_over)


@pytest.mark.slow
def test_a_box_on_the_good_side_is_told_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Ours of the fen stand on the right already; --quiet is the sentence alone."""
    assert main(["side", str(FEN), "--quiet", *WORDS, "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Box 11 is on the good side already, the right at the hedge gap:")
