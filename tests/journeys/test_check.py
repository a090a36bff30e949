"""The course inspection at the door: every shipped scenario, one and all at once, in the units asked for."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from simrun.cli import main
from tests.helpers.doors import Door

TOP = Path(__file__).parents[2]
DUAL = str(TOP / "scenarios" / "dual_meet.toml")
SHIPPED = sorted((TOP / "scenarios").glob("*.toml"))


@pytest.mark.parametrize("name", ["dual_meet", "ferry_meadow", "ostrel_common"])
def test_check_prints_every_box_and_the_caution(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Length, widths, a row for every box, and the standing caution; never the forbidden word."""
    assert main(["check", str(TOP / "scenarios" / f"{name}.toml")]) == 0
    page = capsys.readouterr().out
    assert "measured line" in page
    assert "Not a safety assessment" in page
    assert not re.search(r"\bsafe\b", page, re.IGNORECASE)


def test_check_speaks_the_units_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    """Yards or metres, whatever the scenario was written in."""
    main(["check", DUAL])
    assert "yd" in capsys.readouterr().out
    main(["check", DUAL, "--units", "metric"])
    assert " yd" not in capsys.readouterr().out


@pytest.mark.parametrize("file", SHIPPED, ids=lambda path: path.stem)
def test_every_shipped_scenario_passes_its_check(file: Path, tmp_path: Path, door: Door) -> None:
    """Exit code 0, a page, silence on standard error, nothing written."""
    done = door("check", str(file), folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert "Not a safety assessment" in done.stdout
    assert list(tmp_path.iterdir()) == []


def test_all_scenarios_are_checked_at_once(capsys: pytest.CaptureFixture[str]) -> None:
    """`simrun check scenarios/*.toml`, before a meet."""
    assert main(["check", *map(str, SHIPPED)]) == 0
    assert capsys.readouterr().out.count("Not a safety assessment") == len(SHIPPED)


def test_several_checks_write_a_page_each(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One file's page stands in the folder, those of several in folders of their own, also of one name."""
    assert main(["check", DUAL, "--out", str(tmp_path / "one"), "--quiet"]) == 0
    twin = tmp_path / "dual_meet.toml"
    twin.write_bytes(Path(DUAL).read_bytes())
    several = [DUAL, str(twin)]
    assert main(["check", *several, "--out", str(tmp_path / "two"), "--units", "us"]) == 0
    stem = twin.stem
    pages = sorted(path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*.html"))
    assert pages == ["one/check.html", f"two/{stem}-2/check.html", f"two/{stem}/check.html"]
    for page in pages:
        text = (tmp_path / page).read_text("utf-8")
        assert "Not a safety assessment" in text
        assert "Beside books and guidance" in text
        assert not re.search(r"\bsafe\b", text, re.IGNORECASE)
