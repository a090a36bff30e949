"""Which text do the bytes of a list hold? Spreadsheets save it as UTF-8, UTF-16 or Windows-1252."""

from __future__ import annotations

import codecs

from simrun.base.errors import BadInput, Problem

WIDE = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


def decoded(data: bytes) -> str:
    """The text of a list: UTF-8, UTF-16 (with its mark, or told by its empty bytes), else Windows-1252.

    Windows-1252 is taken only where not one letter beyond ASCII is UTF-8: a spoilt UTF-8 file is refused and
    not read as strange letters. Raises BadInput naming the line. Check: tests/unit/base/test_decoding.py.
    """
    wide = _wide(data)
    if wide:
        return _as_wide(data, wide)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = data.count(b"\n", 0, wrong.start) + 1
    if data.decode("utf-8", "ignore").isascii():
        try:
            return data.decode("cp1252")
        except UnicodeDecodeError as wrong:
            line = data.count(b"\n", 0, wrong.start) + 1
    raise BadInput(Problem(f"line {line}", "not UTF-8 text", "save the file as UTF-8"))


def _wide(data: bytes) -> str:
    """Which UTF-16 is it, if it is? Without a mark: a letter of ASCII has one empty byte, before or after.

    Most letters of a list's head are; a list in anything else has no empty byte, or a stray one.
    """
    if data.startswith(WIDE):
        return "utf-16"
    head = data[:200]
    after, before = head[1::2].count(0), head[::2].count(0)
    if 4 * max(after, before) <= len(head):
        return ""
    return "utf-16-le" if after > before else "utf-16-be"


def _as_wide(data: bytes, name: str) -> str:
    try:
        return data.decode(name)
    except UnicodeDecodeError:
        problem = Problem("file", "UTF-16 text that breaks off", "save the file as UTF-8")
        raise BadInput(problem) from None
