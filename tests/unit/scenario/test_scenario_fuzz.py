"""Whatever a file holds, `read` gives a Scenario or a BadInput with one line a mistake."""

from __future__ import annotations

import datetime
import json
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from simrun.base.errors import BadInput
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from tests.helpers.scenario_text import ENTRIES, SMALL, WHOLE

FOREIGN_WORDS = ("pydantic", "Input should", "validation error", "Traceback")
SLOW = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])

LINES = WHOLE.split("\n")

ODD_VALUES: st.SearchStrategy[Any] = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(),
        st.integers(min_value=10**20),
        st.floats(),
        st.text(max_size=20),
        st.sampled_from(["60 m", "150 yd", "18:20", "left", "turn", "barn corner", "even"]),
        st.dates(),
        st.times(),
        st.just(datetime.datetime(2000, 1, 1)),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=6,
)


def read_or_refused(text: str | bytes) -> Scenario | None:
    """Read a text as a file; None if it was refused, which must be one line a mistake."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "meadow.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8", "replace"))
        (path.parent / "entries.csv").write_text(ENTRIES, encoding="utf-8")
        try:
            return read(path)
        except BadInput as wrong:
            told_properly(wrong)
    return None


def told_properly(wrong: BadInput) -> None:
    """One printable line a problem, none twice, in our words."""
    lines = str(wrong).split("\n")
    assert len(lines) == len(wrong.problems) == len(set(lines)) > 0
    for line in lines:
        assert line.isprintable(), repr(line)
        assert not any(word in line for word in FOREIGN_WORDS), line


@SLOW
@given(st.one_of(st.text(), st.binary()))
def test_random_text(text: str | bytes) -> None:
    """Nothing like a scenario."""
    read_or_refused(text)


@SLOW
@given(st.integers(0, len(WHOLE) - 1), st.integers(0, 12), st.text(max_size=6))
def test_a_few_letters_changed_anywhere(at: int, cut: int, put: str) -> None:
    """A slip of the pen."""
    read_or_refused(WHOLE[:at] + put + WHOLE[at + cut :])


@SLOW
@given(st.integers(0, len(LINES) - 1), st.integers(0, len(LINES) - 1), st.booleans())
def test_lines_moved_or_doubled(first: int, second: int, keep: bool) -> None:
    """Cut and paste."""
    lines = LINES.copy()
    line = lines[first] if keep else lines.pop(first)
    lines.insert(second, line)
    read_or_refused("\n".join(lines))


def places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place in a document, as the steps that lead there."""
    steps = value.items() if isinstance(value, dict) else enumerate(value)
    found = []
    for step, inner in steps:
        found.append((*path, step))
        if isinstance(inner, dict | list):
            found += places(inner, (*path, step))
    return found


def document_of(text: str) -> dict[str, Any]:
    import tomllib

    return tomllib.loads(text)


PLACES = [(text, place) for text in (WHOLE, SMALL) for place in places(document_of(text))]


@settings(SLOW, max_examples=400)
@given(st.sampled_from(PLACES), ODD_VALUES)
@pytest.mark.slow
def test_an_odd_value_anywhere(where: tuple[str, tuple[Any, ...]], value: object) -> None:
    """Any value of any type at any key of a right document, as a damaged recording may hold."""
    text, place = where
    document: Any = document_of(text)
    table = document
    for step in place[:-1]:
        table = table[step]
    table[place[-1]] = value
    try:
        scenario = Scenario.assembled(document, {}, "meadow.toml")
    except BadInput as wrong:
        told_properly(wrong)
        return
    assert Scenario.from_json(scenario.to_json()) == scenario
    json.loads(scenario.to_json())
