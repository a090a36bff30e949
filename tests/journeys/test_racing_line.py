"""What an opening means is said wherever everybody races for places, on the page and on the terminal."""

from __future__ import annotations

from pathlib import Path

import pytest

from simrun.cli import main
from simrun.pages.racing_words import OPENING_IS_A_SPLIT

DUAL = Path(__file__).parents[2] / "scenarios" / "dual_meet.toml"
ASKED = {
    "card": (["--workers", "1"], "card.html"),
    "layout": (["--until", "140", "--workers", "1"], "layout.html"),
    "disturb": (["--at", "70 yd", "--lasts", "5"], "disturbance.html"),
}


@pytest.mark.parametrize("racing", ["on", "off"])
@pytest.mark.parametrize("kind", ASKED)
def test_an_opening_is_a_split_where_racing_is_on(
    kind: str, racing: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One line, once, and none where nobody races."""
    text = DUAL.read_text("utf-8").replace("[field]\n", f'[field]\nracing = "{racing}"\n')
    (tmp_path / "day.toml").write_text(text, encoding="utf-8")
    more, page = ASKED[kind]
    words = [kind, str(tmp_path / "day.toml"), *more, "--seeds", "1"]
    assert main([*words, "--out", str(tmp_path)]) == 0
    often = 1 if racing == "on" else 0
    assert capsys.readouterr().out.count(OPENING_IS_A_SPLIT) == often
    assert (tmp_path / page).read_text("utf-8").count(OPENING_IS_A_SPLIT) == often
