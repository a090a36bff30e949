"""The race days that come along: put where one is, and the command that `--help` names works there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import simrun
from simrun.cli import main
from simrun.cli.door import parser
from simrun.sources.library import scenarios_folder


@pytest.mark.slow
def test_what_help_names_works_in_an_empty_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Both commands, word for word; and every race day that was written is read where it is."""
    monkeypatch.chdir(tmp_path)
    (commands,) = re.findall(r"Begin with: simrun (.+), then simrun (.+)", parser().format_help())
    assert main(commands[0].split()) == 0
    assert "Begin with:  simrun race scenarios/dual_meet.toml\n" in capsys.readouterr().out
    for path in Path("scenarios").glob("*.toml"):
        simrun.read(path)
    assert main([*commands[1].split(), "--no-gif", "--quiet"]) == 0
    assert Path("outputs/dual_meet/loss.csv").is_file()


def test_twice_is_as_good_as_once_and_nothing_of_yours_is_written_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["demo", "--out", str(tmp_path / "days")]
    assert main(words) == main(words) == 0
    names = {path.name for path in (tmp_path / "days").iterdir()}
    assert names == {path.name for path in scenarios_folder().iterdir()}
    mine = tmp_path / "days" / "dual_meet.toml"
    mine.write_text("name = 'mine'", encoding="utf-8")
    capsys.readouterr()
    assert main(words) == 2
    assert re.fullmatch(
        r"simrun: \S+days: dual_meet.toml there already, [^\n]+ --out FOLDER\n",
        capsys.readouterr().err,
    )
    assert mine.read_text("utf-8") == "name = 'mine'"
