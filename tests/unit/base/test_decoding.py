"""Are lists read in whatever letters a spreadsheet saves them, and is a spoilt one refused?"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simrun.base.decoding import decoded
from simrun.base.errors import BadInput

LIST = "name;team;time\r\nÅro Fén;Bäck Hill;18:20\r\nZoë O’Dell;Œster;19:00\r\n"


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"]
)
def test_every_way_of_saving_gives_the_same_letters(encoding: str) -> None:
    assert decoded(LIST.encode(encoding)) == LIST


def test_a_mark_of_the_other_order_is_read() -> None:
    assert decoded(b"\xfe\xff" + LIST.encode("utf-16-be")) == LIST


@pytest.mark.parametrize(
    ("data", "told"),
    [
        ("name,team\nÅro,Hill\n".encode() + b"Z\xe9,Hill\n", "line 3: not UTF-8 text"),
        (b"name,team\nA\x81ro,Hill\n", "line 2: not UTF-8 text"),
        ("name,team".encode("utf-16") + b"x", "UTF-16 text that breaks off"),
    ],
    ids=["two kinds of letters", "no letter at all", "half a letter"],
)
def test_a_spoilt_list_is_refused_and_not_read_as_strange_letters(data: bytes, told: str) -> None:
    with pytest.raises(BadInput) as wrong:
        decoded(data)
    assert told in str(wrong.value)


@given(st.binary())
def test_whatever_the_bytes_only_our_own_error_escapes(data: bytes) -> None:
    said = "save the file as UTF-8"
    try:
        decoded(data)
    except BadInput as wrong:
        said = str(wrong)
    assert "save the file as UTF-8" in said


@given(st.text(alphabet=st.characters(codec="cp1252", exclude_characters="\x00")))
def test_windows_letters_come_back_or_are_refused(text: str) -> None:
    """Never as other letters, unless they happen to be whole UTF-8."""
    data = text.encode("cp1252")
    try:
        assert decoded(data) in (text, data.decode("utf-8-sig", "replace"))
    except BadInput:
        assert not data.decode("utf-8", "ignore").isascii()
