"""A changed race day as a file of its own, beside the lists that it names."""

from __future__ import annotations

from pathlib import Path

from simrun.base.writing import write_text
from simrun.scenario.scenario import Scenario


def write_scenario(day: Scenario, path: Path) -> list[Path]:
    """Write the day as it stands, and the text of every file it names beside it; gives the files.

    Read again it is the same day, without a behaviour of one's own. Raises CannotWrite. Check:
    tests/unit/scenario/test_toml_text.py.
    """
    written = [write_text(path, day.to_toml())]
    for name, text in day.attachments.items():
        written.append(write_text(path.parent / name, text))
    return written
