"""Any page: the sentence first, every word escaped, nothing that runs, nothing from elsewhere."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from simrun.pages.frame import hash_word, html_of, write_page
from simrun.pages.page import Figure, Moment, Page, Part, Table, ours_marked, table_of
from simrun.pages.text import paragraphs
from tests.helpers.seen_page import Seen

HOSTILE = '<script>alert("x")</script><img src=x onerror=alert(1)>&{{ 7*7 }}'


def page(word: str = "plain") -> Page:
    """A page on which every place for words holds this one."""
    table = Table((word, word), ((word, "1"), ("3", word)), word, marks={1: "ours"})
    figure = Figure(b"png", word, word, (Moment("replay.html", 75.04, word),))
    inner = Part(word, (word,), (figure,), (table,))
    return Page(
        title=word,
        sentence=word,
        first=Part(word, (word,), (figure,), (table,), (inner,)),
        about=word,
        folded=(inner,),
        notes=(word,),
        caution=word,
    )


def test_the_sentence_is_the_one_headline() -> None:
    """One h1, before any figure or table."""
    seen = Seen(html_of(page()))
    assert seen.tags.count("h1") == 1
    assert seen.tags.index("h1") < min(seen.tags.index("img"), seen.tags.index("table"))


def test_a_note_that_says_nothing_takes_no_room() -> None:
    """Neither an empty paragraph on a page nor an empty line on a terminal."""
    assert html_of(replace(page(), notes=("one", "", "two"))).count("<p>") == (
        html_of(replace(page(), notes=("one", "two"))).count("<p>")
    )
    assert paragraphs("", "one", "", "two") == "one\n\ntwo"


def test_hostile_words_stay_words() -> None:
    """As a name, a caption, a cell, a note: shown as written, and no tag of theirs is made."""
    kind, hostile = Seen(html_of(page())), Seen(html_of(page(HOSTILE)))
    assert hostile.tags == kind.tags
    assert HOSTILE in hostile.words


def test_nothing_runs_and_nothing_comes_from_elsewhere() -> None:
    """No script; the page's own rules allow its style by hash and pictures inside the file, and no more."""
    text = html_of(page())
    assert "<script" not in text
    (policy,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    (style,) = re.findall(r"<style>(.*?)</style>", text, flags=re.DOTALL)
    assert "default-src 'none'" in policy
    assert hash_word(style).replace("+", "&#43;") in policy or hash_word(style) in policy
    addresses = [
        v for _, given in Seen(text).given for k, v in given.items() if k in ("src", "href")
    ]
    assert all(
        a and (a.startswith("data:image/png") or a == "replay.html#at=75.0") for a in addresses
    )
    assert 'name="viewport"' in text


def test_our_row_stands_out() -> None:
    """The row that begins with ours, and no other; the head never."""
    rows = [["17", "s"], ["3", "1"], ["17", "2"]]
    assert ours_marked(rows, "17") == {1: "ours"}
    text = html_of(Page("t", "s", Part(tables=(table_of(rows, marks=ours_marked(rows, "17")),))))
    assert text.count('class="ours"') == 1


@pytest.mark.parametrize("one_sheet", [True, False])
def test_a_sheet_is_a_page_of_the_same_frame(one_sheet: bool) -> None:
    """Made for one sheet or not, the frame is the same."""
    text = html_of(Page("t", "s", Part(), one_sheet=one_sheet))
    assert ('class="sheet"' in text) == one_sheet


def test_a_page_leads_to_the_replay_beside_it(tmp_path: Path) -> None:
    """By the replay's own title, whatever stands in it; where there is none, or another file, to nothing."""
    page = Page("a day", "A sentence.", Part())
    assert "replay.html" not in write_page(page, tmp_path / "page.html").read_text("utf-8")
    (tmp_path / "replay.html").write_text("<title>Tom &amp; &lt;b&gt;: replay</title>", "utf-8")
    written = write_page(page, tmp_path / "page.html").read_text("utf-8")
    assert 'One race to watch, Tom &amp; &lt;b&gt;: <a href="replay.html#at=0.0">' in written
    (tmp_path / "replay.html").write_bytes(b"\xff\xfe nothing of ours")
    assert "replay.html" not in write_page(page, tmp_path / "page.html").read_text("utf-8")
