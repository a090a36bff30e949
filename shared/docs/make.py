"""Gather what the site is built from: its pages, the README, commands, grammar and schema, the gallery.

    python shared/docs/make.py FOLDER [--without-pictures]

The gallery's pictures are made by the commands that stand beside them; they take about a minute.
"""

from __future__ import annotations

import argparse
import shlex
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from simrun.cli.door import parser
from simrun.pages.cautions import CAUTION
from simrun.tactics.own.senses import SENSES

HERE = Path(__file__).parent
TOP = HERE.parents[1]

GALLERY = (
    ("simrun boxes scenarios/dual_meet.toml --seeds 4", "boxes.png", "What every box costs"),
    (
        'simrun disturb scenarios/dual_meet.toml --at "140 yd" --lasts 10 --seeds 2',
        "disturbance.png",
        "Who is held up when somebody is down",
    ),
    ("simrun chase scenarios/dual_meet.toml --seeds 2", "chase.png", "What can be run back"),
    ("simrun race scenarios/dual_meet.toml --length 8", "race.gif", "The race, as it was lost"),
)
"""Command, the picture of it that is shown, and its heading. All of an invented world."""


def main(folder: Path, pictures: bool) -> None:
    """Write everything into an empty folder."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(HERE, folder)
    for name in ("pictures", "handbook"):
        shutil.copytree(TOP / "shared" / name, folder / "shared" / name)
    texts = {
        "readme.md": (TOP / "README.md").read_text("utf-8"),
        "scenario.md": (TOP / "shared" / "schema" / "scenario.md").read_text("utf-8"),
        "answer.md": answer_text(),
        "commands.md": commands_text(),
        "senses.md": "".join(f"- `{name}`: {means}\n" for name, means in SENSES.items()),
        "gallery.md": gallery_text(folder if pictures else None),
    }
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")


def answer_text() -> str:
    """The schema of `--json`."""
    schema = (TOP / "shared" / "schema" / "answer.schema.json").read_text("utf-8")
    return f"# What `--json` prints\n\n```json\n{schema}```\n"


def commands_text() -> str:
    """Every command's own help."""
    top = parser()
    parts = [f"# Commands\n\n```text\n{top.format_help()}```\n"]
    for action in top._actions:
        if isinstance(action, argparse._SubParsersAction):
            for name, command in action.choices.items():
                parts.append(f"## {name}\n\n```text\n{command.format_help()}```\n")
    return "\n".join(parts)


def gallery_text(folder: Path | None) -> str:
    """A picture a command; without a folder the commands alone."""
    parts = ["# Gallery\n\nInvented races, each picture made by the command above it.\n"]
    for words, picture, heading in GALLERY:
        parts.append(f"## {heading}\n\n```sh\n{words}\n```\n")
        if folder is not None:
            with tempfile.TemporaryDirectory() as made:
                command = [sys.executable, "-m", "simrun", *shlex.split(words)[1:], "--quiet"]
                done = subprocess.run(
                    [*command, "--out", made],
                    cwd=TOP,
                    stdout=subprocess.PIPE,
                    text=True,
                    check=True,
                )
                shutil.copy(Path(made, picture), folder / picture)
            parts.append(f"> {done.stdout.strip()}\n\n![{heading}]({picture})\n")
    return "\n".join([*parts, CAUTION, ""])


if __name__ == "__main__":
    asked = argparse.ArgumentParser()
    asked.add_argument("folder", type=Path)
    asked.add_argument("--without-pictures", action="store_true")
    told = asked.parse_args()
    main(told.folder, pictures=not told.without_pictures)
