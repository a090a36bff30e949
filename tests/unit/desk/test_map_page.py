"""A page of a PDF becomes a picture; a hostile one becomes one line, within bounds."""

from __future__ import annotations

import base64
import io

import pytest
from PIL import Image

from simrun.base.errors import BadInput
from simrun.desk.work import map_page as painted
from simrun.desk.work.map_page import map_page
from tests.helpers.map_pdfs import bomb, pdf_of


def test_the_page_that_is_asked_for_is_painted() -> None:
    """Two pages of unlike shape: each comes in its own, with the longer side of 3000 pixels at most."""
    data = pdf_of((600, 400), (300, 900))
    for number, shape in ((1, 600 / 400), (2, 300 / 900)):
        told = map_page(data, number)
        picture = Image.open(io.BytesIO(base64.b64decode(told["picture"])))
        assert told["pages"] == 2
        assert picture.format == "JPEG"
        assert picture.width / picture.height == pytest.approx(shape, rel=0.01)
        assert 1000 < max(picture.size) <= 3000


@pytest.mark.parametrize(
    ("data", "number", "told"),
    [
        (b"", 1, "no PDF"),
        (b"<html>", 1, "no PDF"),
        (b"%PDF-1.7\n" + b"\xff" * 5000, 1, "cannot be read"),
        (b"%PDF-1.4\ntrailer<</Root 1 0 R>>", 1, "cannot be read"),
        (pdf_of((60, 40)), 2, "no page 2"),
        (pdf_of((60, 40)), 0, "no page 0"),
        (pdf_of((60, 40))[:-200], 9, "no page 9|cannot be read"),
        (b"%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj\n2 0 obj<</Type/Pages/Kids[2 0 R]"
         b"/Count 9>>endobj\ntrailer<</Root 1 0 R>>", 1, "cannot be read|no page"),
    ],
    ids=["empty", "page", "noise", "bare", "beyond", "none", "cut", "circle"],
)  # fmt: skip
def test_what_cannot_be_painted_is_one_line(data: bytes, number: int, told: str) -> None:
    """Cut off, empty, no PDF, pages in a circle, a page that is not there."""
    with pytest.raises(BadInput, match=told):
        map_page(data, number)


@pytest.mark.slow
def test_a_page_without_end_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """A small file that draws for minutes ends with its process, in the time that is given."""
    data = bomb()
    assert len(data) < 2_000_000
    monkeypatch.setattr(painted, "LONGEST_S", 3)
    with pytest.raises(BadInput, match="takes too long"):
        map_page(data, 1)
