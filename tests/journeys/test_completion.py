"""Completion in a shell: the scripts are sound, bash's own answers are looked at; and no colour unasked."""

from __future__ import annotations

import os
import pty
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from simrun.cli import main
from simrun.cli.completion import SHELLS

TOP = Path(__file__).parents[2]


def script_of(shell: str, capsys: pytest.CaptureFixture[str]) -> str:
    with pytest.raises(SystemExit) as left:
        main(["--completion", shell])
    assert left.value.code == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("shell", SHELLS)
def test_every_shell_is_told_of_commands_and_options(
    shell: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """And where the shell is there, it finds no mistake in the script."""
    script = script_of(shell, capsys)
    for word in ("boxes", "tactic", "estimate", "behaviour", "seeds"):
        assert word in script
    if shutil.which(shell):
        (tmp_path / "script").write_text(script, encoding="utf-8")
        subprocess.run([shell, "-n", str(tmp_path / "script")], check=True)


@pytest.mark.skipif(not shutil.which("bash"), reason="no bash here")
@pytest.mark.parametrize(
    ("typed", "wanted", "unwanted"),
    [
        (["simrun", "bo"], {"boxes"}, {"brief"}),
        (["simrun", "boxes", "--se"], {"--seeds"}, {"--size"}),
        (["simrun", "boxes", "--units", ""], {"metric", "us"}, {"--seeds"}),
        (["simrun", "check", "scen"], {"scenarios"}, {"simrun"}),
        (["simrun", "boxes", "scenarios/dual_meet.toml", "--inputs", "f"], {"fixed"}, {"drawn"}),
    ],
)
def test_bash_completes_what_was_begun(
    typed: list[str],
    wanted: set[str],
    unwanted: set[str],
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
) -> None:
    """As bash itself asks: the words so far, the last one begun."""
    script = tmp_path / "script"
    script.write_text(script_of("bash", capsys), encoding="utf-8")
    words = " ".join(f"'{word}'" for word in typed)
    asked = f"""
        source {script}
        COMP_WORDS=({words}); COMP_CWORD={len(typed) - 1}
        COMP_LINE="${{COMP_WORDS[*]}}"; COMP_POINT=${{#COMP_LINE}}
        spec=$(complete -p simrun); spec=${{spec#* -F }}
        "${{spec%% *}}" simrun '{typed[-1]}' '{typed[-2]}' 2>/dev/null
        printf '%s\\n' "${{COMPREPLY[@]}}"
    """
    done = subprocess.run(["bash", "-c", asked], capture_output=True, text=True, cwd=TOP)
    told = {line.strip().rstrip("/") for line in done.stdout.splitlines()}
    assert wanted <= told, done.stderr
    assert not unwanted & told


@pytest.mark.skipif(sys.platform == "win32", reason="no terminal of this kind")
@pytest.mark.parametrize("words", [["--help"], ["check", "scenarios/dual_meet.toml"], ["bxes"]])
def test_no_colour_where_none_is_wanted(words: list[str]) -> None:
    """With NO_COLOR set nothing that is printed to a terminal holds a colour (newer Pythons color help)."""
    leader, follower = pty.openpty()
    told = os.environ | {"NO_COLOR": "1", "TERM": "xterm-256color", "PYTHONPATH": str(TOP)}
    command = [sys.executable, "-m", "simrun", *words]
    with subprocess.Popen(command, cwd=TOP, env=told, stdout=follower, stderr=follower) as running:
        os.close(follower)
        seen = b""
        while True:
            try:
                part = os.read(leader, 65536)
            except OSError:  # the other end is closed
                break
            if not part:
                break
            seen += part
        running.wait()
    os.close(leader)
    assert len(seen) > 40
    assert b"\x1b[3" not in seen
    assert b"\x1b[1;3" not in seen
