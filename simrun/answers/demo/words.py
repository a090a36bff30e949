"""The demo in words."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

FIRST = "dual_meet.toml"
"""The smallest: an answer in two seconds."""

WITH_LISTS = "brindle_fen.toml"


def sentence_of(days: Sequence[str], folder: Path) -> str:
    """What was put where?"""
    return f"{len(days)} race days of an invented world are in {folder}."


def next_of(folder: Path) -> str:
    """What to type next."""
    return (
        f"Begin with:  simrun race {folder / FIRST}\n"
        f"The one with an entry list and a box sheet:  simrun boxes {folder / WITH_LISTS}"
    )
