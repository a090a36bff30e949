"""What is written as TOML is read again as it was."""

from __future__ import annotations

import tomllib

from hypothesis import given, settings
from hypothesis import strategies as st

from simrun.base.written_tables import table_text

VALUES = st.one_of(
    st.booleans(),
    st.integers(-(2**40), 2**40),
    st.text(st.characters(codec="utf-8"), max_size=30),
    st.lists(st.integers(0, 9), max_size=4),
)


@settings(max_examples=30)
@given(st.dictionaries(st.sampled_from(["name", "width", "at_m", "to"]), VALUES, min_size=1))
def test_tables_come_back(values: dict[str, object]) -> None:
    text = table_text("[[course.pieces]]", values, {"width": "measure it"})
    assert tomllib.loads(text) == {"course": {"pieces": [values]}}


def test_numbers_and_remarks_by_hand() -> None:
    assert table_text("", {"at": 12.5, "on": True}) == "at = 12.5\non = true\n"
    shares = {"lines": {"inside": 0.6, "middle": 0.4}}
    assert table_text("[field]", shares) == "[field]\nlines = { inside = 0.6, middle = 0.4 }\n"
    assert table_text("[a]", {"b": "6 m"}, {"b": "assumed"}) == '[a]\nb = "6 m"  # assumed\n'
