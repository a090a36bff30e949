"""No kind of answer imports another; markup and sentences have their rooms. Planted breaches are found."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from tests.architecture.house import FILES, PACKAGE, imported, strings

WHOLE = "whole"
"""The one folder of answers that may import kinds: what is made of several."""

TAGS = "a|b|body|br|div|em|figure|footer|h[1-6]|head|header|html|img|li|main|meta|p|script|section|small"
TAGS += "|span|strong|style|table|td|th|tr|ul"
MARKUP = re.compile(rf"</?({TAGS})(\s[^<>]*)?/?>|<!doctype")
MARKUP_ROOMS = ("pages/", "pictures/replay/")

SENTENCE = re.compile(r"[A-Z].*(?:\s\S+){5,}[.!?](?:\s|$)", re.DOTALL)
"""A capital, at least six words, an end: what a person reads as a sentence."""
SENTENCE_ROOMS = ("pages/", "cli/", "base/errors.py")
SENTENCE_FILES = ("words.py", "__init__.py", "_words.py", "evidence/check_rows.py")
"""The last quotes what others published, row by row."""
REFUSING = {"Problem", "BadInput", "ValueError", "TypeError", "KeyError", "RuntimeError", "refuse"}
"""What these are told is an error's text."""


def foreign_kinds(path: Path, package: Path, text: str) -> list[str]:
    """Which other kinds does this file of a kind import?"""
    parts = path.relative_to(package).parts
    if parts[0] != "answers" or len(parts) < 3 or parts[1] == WHOLE:
        return []
    kinds = {folder.name for folder in (package / "answers").iterdir() if folder.is_dir()}
    found = []
    for name in imported(ast.parse(text), path, package):
        words = name.split(".")
        other = words[2] if words[:2] == ["simrun", "answers"] and len(words) > 2 else ""
        if other in kinds and other != parts[1]:
            found.append(f"{path.relative_to(package)} imports {name}")
    return found


def markup(path: Path, package: Path, text: str) -> list[str]:
    """Which texts of this file hold tags though pages are not made here?"""
    where = path.relative_to(package).as_posix()
    if where.startswith(MARKUP_ROOMS):
        return []
    return [
        f"{where}:{line} {words[:40]!r}"
        for line, words in strings(ast.parse(text))
        if MARKUP.search(words)
    ]


def sentences(path: Path, package: Path, text: str) -> list[str]:
    """Which sentences for a person stand in this file though it is no room of words?"""
    where = path.relative_to(package).as_posix()
    if where.startswith(SENTENCE_ROOMS) or where.endswith(SENTENCE_FILES):
        return []
    tree = ast.parse(text)
    errors = {
        line
        for node in ast.walk(tree)
        if isinstance(node, ast.Raise) or (isinstance(node, ast.Call) and _called(node) in REFUSING)
        for line in range(node.lineno, (node.end_lineno or node.lineno) + 1)
    }
    return [
        f"{where}:{line} {words[:60]!r}"
        for line, words in strings(tree)
        if line not in errors and SENTENCE.search(words)
    ]


def _called(node: ast.Call) -> str:
    return getattr(node.func, "id", getattr(node.func, "attr", ""))


@pytest.mark.parametrize("rule", [foreign_kinds, markup, sentences])
def test_kinds_markup_and_words_keep_their_rooms(rule) -> None:  # type: ignore[no-untyped-def]
    """Nothing of it anywhere else."""
    found = [breach for path in FILES for breach in rule(path, PACKAGE, path.read_text("utf-8"))]
    assert found == []


@pytest.mark.parametrize(
    ("rule", "file", "breach"),
    [
        (foreign_kinds, "answers/boxes/run.py", "def f():\n    from ..tactic import run"),
        (foreign_kinds, "answers/boxes/run.py", "from simrun.answers.card.words import told"),
        (foreign_kinds, "answers/boxes/page.py", "import simrun.answers.layout"),
        (markup, "answers/boxes/page.py", "X = '<p>told</p>'"),
        (markup, "measure/loss.py", "def f(x):\n    return f'<b class=\"a\">{x}</b>'"),
        (sentences, "answers/boxes/run.py", "X = 'The box costs us about two seconds here.'"),
        (sentences, "measure/loss.py", "def f(x):\n    return f'Box {x} costs us about two seconds here.'"),
    ],
)  # fmt: skip
def test_a_planted_breach_is_found(rule, file: str, breach: str) -> None:  # type: ignore[no-untyped-def]
    """Each kind of breach, planted at the end of a real file, is reported."""
    path = PACKAGE / file
    text = path.read_text("utf-8")
    assert rule(path, PACKAGE, f"{text}\n{breach}\n") != rule(path, PACKAGE, text)
