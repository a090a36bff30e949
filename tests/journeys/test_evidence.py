"""From one call to the page of evidence."""

from __future__ import annotations

import base64
import io
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from PIL import Image

from simrun.answers.evidence import run as evidence
from simrun.answers.evidence.checks import GROUPS
from simrun.answers.evidence.sections import SECTIONS
from simrun.base.errors import CannotWrite


class Tables(HTMLParser):
    """Collects the verdicts of the folded tables, and the pictures."""

    def __init__(self) -> None:
        super().__init__()
        self.verdicts: list[str] = []
        self.pictures: list[bytes] = []
        self.column = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        self.column = {"tr": 0, "td": self.column + 1}.get(tag, self.column)
        if tag == "img":
            assert told["alt"]
            self.pictures.append(base64.b64decode((told["src"] or "").split(",", 1)[1]))

    def handle_data(self, data: str) -> None:
        word = data.partition(" ")[0]
        if self.column == 2 and word in ("met", "missed"):
            self.verdicts.append(word)


@pytest.mark.slow
def test_the_quick_page_holds_every_row_and_every_picture(tmp_path: Path) -> None:
    """One call, a page and the audit; every experiment has its rows, every picture opens."""
    told: list[float] = []
    result = evidence.run_evidence(tmp_path / "new" / "folder", quick=True, progress=told.append)
    path, audit = result.save()
    assert sorted(p.name for p in path.parent.iterdir()) == ["audit.csv", "evidence.html"]
    assert "boardwalk,narrowing" in audit.read_text("utf-8")
    text = path.read_text("utf-8")
    assert "boardwalk (narrowing)" in text
    tables = Tables()
    tables.feed(text)
    assert set(tables.verdicts) == {"met", "missed"}
    met = tables.verdicts.count("met")
    assert f"The model meets {met} of the {len(tables.verdicts)} figures" in text
    assert f"<h1>{result.sentence}</h1>" in text
    assert result.table["met"].tolist() == [word == "met" for word in tables.verdicts]
    assert len(tables.pictures) == 5
    for picture in tables.pictures:
        with Image.open(io.BytesIO(picture)) as image:
            assert image.width > 500
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert "Left out of the quick page" in text
    assert "Not a safety assessment" in text
    assert not re.search(r"\bsafe\b", text)


def test_every_experiment_stands_on_the_page_once() -> None:
    """No group is run for nothing, none is told twice."""
    names = [name for section in SECTIONS for name in section.experiments]
    assert sorted(names) == sorted(each.name for each in GROUPS)


def test_a_folder_that_refuses_is_told_before_the_work(tmp_path: Path) -> None:
    """A file stands where the folder should be: nothing is run."""
    blocked = tmp_path / "file"
    blocked.write_text("here already")
    told: list[float] = []
    with pytest.raises(CannotWrite):
        evidence.run_evidence(blocked, quick=True, progress=told.append)
    assert told == []
