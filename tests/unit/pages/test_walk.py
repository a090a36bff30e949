"""The page of a walk: hostile words stay words, only its own script runs, nothing comes from elsewhere."""

from __future__ import annotations

import base64
import json
import re
from dataclasses import dataclass, field

from simrun.pages.frame import hash_word
from simrun.pages.page import Part, table_of
from simrun.pages.walk import Film, Question, Said, Shot, Slide, View, Walk, walk_html
from tests.helpers.seen_page import Seen

HOSTILE = "</script><script>document.title='run'</script><img src=x onerror=alert(1)>\"'&{{ 7*7 }}"


@dataclass
class Shown:
    """A name on a map, and a map with it."""

    text: str
    x: float = 1.0
    y: float = 2.0
    spot: tuple[float, float] = (0.0, 0.0)
    box: tuple[float, float, float, float] = (0.0, 0.0, 16.0, 10.0)
    ground: str = "M0 0L1 1"
    edges: dict[str, str] = field(default_factory=lambda: {"open": "M0 0L1 1"})
    way: str = "M0 0L1 1"
    arrow: str = "M0 0L1 1"
    letter_m: float = 1.0

    @property
    def names(self) -> tuple[Shown, ...]:
        return (self,)


def walk(word: str = "plain") -> Walk:
    """A walk in which every place for words holds this one."""
    table = table_of([(word, word), (word, word)], word)
    said = (Said(word, word), Said(word))
    chapter = Slide(
        word,
        word,
        (word,),
        said,
        said,
        own=word,
        map=Shown(word),
        map_alt=word,
        ours=(table,),
        shots=(Shot(b"jpeg", word, word),),
        film=Film({"name": word}, word),
        coach=word,
        eye_m=(0.0, 1.0),
    )
    return Walk(
        word,
        word,
        (chapter,),
        about=word,
        to_go=(View(word, said, 1.0),),
        to_go_notes=(word,),
        after=(Part(word, (word,), tables=(table,)),),
        quiz=(Question(word, (word, word), 0),),
        notes=(word,),
    )


def test_hostile_words_stay_words() -> None:
    """No tag of theirs is made, in the page or out of its data; they are shown as written."""
    kind, hostile = Seen(walk_html(walk())), Seen(walk_html(walk(HOSTILE)))
    assert hostile.tags == kind.tags
    assert kind.words.count("plain") == hostile.words.count(HOSTILE) > 10


def test_the_data_are_the_same_numbers_and_words() -> None:
    (told,) = re.findall(r'id="told">(.*?)</script>', walk_html(walk(HOSTILE)), flags=re.DOTALL)
    assert not set("<>&") & set(told)
    data = json.loads(told)
    assert data["quiz"] == [[HOSTILE, [HOSTILE, HOSTILE], 0]]
    assert data["films"] == [{"name": HOSTILE}]


def test_only_its_own_script_runs_and_nothing_comes_from_elsewhere() -> None:
    text = walk_html(walk())
    (policy,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    policy = policy.replace("&#43;", "+")
    scripts = re.findall(r"<script>(.*?)</script>", text, flags=re.DOTALL)
    (style,) = re.findall(r"<style>(.*?)</style>", text, flags=re.DOTALL)
    assert len(scripts) == 1
    assert f"script-src '{hash_word(scripts[0])}'" in policy
    assert f"style-src '{hash_word(style)}'" in policy
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    given = [each for _, each in Seen(text).given]
    addresses = [v for each in given for k, v in each.items() if k in ("src", "href")]
    assert all(a and a.startswith(("data:image/jpeg;base64,", "#")) for a in addresses)
    assert base64.b64encode(b"jpeg").decode() in text
    assert not [k for each in given for k in each if k.startswith("on") or k == "style"]
