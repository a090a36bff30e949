"""The raw document of a scenario is touched only inside `scenario/`. A planted breach must be found.

Everybody else asks for a changed race day by a named function of the model: the file may say nothing of the
people of an entry list, and a study that edited it once ran the same race under six names.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "simrun"

RAW = ("document", "attachments", "changed")
"""Of a Scenario: what was written, and the door to its keys. No other class of ours has such an attribute."""

HANDS = ("simrun.scenario.change", "simrun.scenario.paper")
"""The modules that work on a scenario's raw tables; `assemble` makes a scenario of new ones."""

FILES = sorted(p for p in PACKAGE.rglob("*.py") if PACKAGE / "scenario" not in p.parents)


def touches(text: str) -> list[str]:
    """Where does a module reach for the raw document, by its attribute, by its name as text, by import?"""
    found = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Attribute) and node.attr in RAW:
            found.append(f"line {node.lineno}: .{node.attr}")
        if isinstance(node, ast.Constant) and node.value in RAW:
            found.append(f"line {node.lineno}: {node.value!r}")
        if isinstance(node, ast.ImportFrom) and (node.module or "") in HANDS:
            found.append(f"line {node.lineno}: from {node.module}")
        if isinstance(node, ast.Import):
            found += [f"line {node.lineno}: {a.name}" for a in node.names if a.name in HANDS]
    return found


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_the_raw_document_stays_in_its_room(path: Path) -> None:
    """No attribute, no key as text, no import of what works on raw tables."""
    assert touches(path.read_text("utf-8")) == []


@pytest.mark.parametrize(
    "breach",
    [
        "tables = scenario.document.get('teams', [])",
        "day = scenario.changed({'field.opening': 0.2})",
        "change = scenario.changed",
        "tables = getattr(scenario, 'document')",
        "from simrun.scenario.change import changed_copy",
        "def f():\n    import simrun.scenario.change as change",
        "text = scenario.attachments[name]",
    ],
)
def test_a_planted_breach_is_found(breach: str) -> None:
    """Each way to the raw tables, planted at the end of a real file, is reported."""
    path = PACKAGE / "answers" / "tactic" / "orders.py"
    assert len(touches(path.read_text("utf-8") + "\n" + breach)) == 1
