"""One voice: every sentence has been read, and what no coach would say does not come back."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from tests.architecture.house import PACKAGE
from tests.documents.sentences import sentences

TOP = Path(__file__).parents[2]
KEPT = Path(__file__).with_name("sentences.txt")

NEVER = (
    r"who would get by do",
    r"is claimed one time in twenty",
    r"[Ss]topped and called again",
    r"goes on where it was",
    r"not there in time",
    r"ground that is not there now",
    r"Whether a second borrowed",
    r"[Hh]eld at every stop",
    r"\b(?:with|from|of|in|by|for|on|at|to) the own\b",
    r"^Who (?:is|has|was|had)\b(?! left out)[^?:]*\b(?:has|is|stands|steps|was|went|waits)\b(?![^.]*\?)",
    r"\bsafe\b(?! mode)",
)
"""Phrases that were edited out; the last is what no page may ever say."""


def told(text: str) -> str:
    """Text on one line, as it is read."""
    return " ".join(text.split())


def test_every_sentence_was_read() -> None:
    """The list kept beside this test is the present one; tests/documents/sentences.py writes it anew."""
    kept = KEPT.read_text("utf-8").rstrip("\n").split("\n")
    assert "\n".join(sentences()).rstrip("\n").split("\n") == kept


def documents() -> list[Path]:
    """What people read: the two documents, the READMEs of the folders, and every module."""
    found = [TOP / "README.md", TOP / "DEVELOPERS.md", *sorted((TOP / "shared").rglob("*.md"))]
    found += sorted((PACKAGE / "desk" / "web").glob("*.js"))
    return [*found, *sorted(PACKAGE.rglob("*.py"))]


@pytest.mark.parametrize("path", documents(), ids=lambda path: str(path.relative_to(TOP)))
def test_what_no_coach_would_say_does_not_come_back(path: Path) -> None:
    """In documents, docstrings and every text of the code."""
    text = path.read_text("utf-8")
    if path.suffix == ".py":
        nodes = ast.walk(ast.parse(text))
        texts = [
            told(n.value) for n in nodes if isinstance(n, ast.Constant) and isinstance(n.value, str)
        ]
    else:
        texts = [told(part) for part in re.split(r"\n\s*\n", text)]
    found = [(phrase, part[:80]) for part in texts for phrase in NEVER if re.search(phrase, part)]
    assert found == []
