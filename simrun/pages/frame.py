"""How does any page become one file? One template, one style sheet, every word escaped."""

from __future__ import annotations

import base64
import hashlib
import re
from functools import cache
from html import unescape
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template
from markupsafe import Markup

from simrun.base.writing import write_text
from simrun.pages.page import Page

TEMPLATES = Path(__file__).parent / "templates"

TITLE_WITHIN = 2000
"""The title stands among the first letters of a page."""


def html_of(page: Page, watch: str = "") -> str:
    """The page as one HTML text that needs no other file and may run nothing.

    watch: which race the replay.html beside it shows; empty, there is none.
    Check: tests/unit/pages/test_frame.py (hostile names stay words, nothing may run).
    """
    style = _style()
    words = {"page": page.beside(watch), "watch": watch, "style": Markup(style)}
    return _template().render(**words, style_hash=hash_word(style))


def write_page(page: Page, path: str | Path) -> Path:
    """Write the page in one piece; where a replay lies beside it, it leads there. Raises CannotWrite."""
    return write_text(path, html_of(page, watched(Path(path).parent)))


def watched(folder: Path) -> str:
    """Which race does the replay.html in this folder show? By its own title; empty where there is none."""
    try:
        with (folder / "replay.html").open(encoding="utf-8") as file:
            found = re.search(r"<title>([^<]*): replay</title>", file.read(TITLE_WITHIN))
    except (OSError, UnicodeDecodeError):
        return ""
    return unescape(found[1]) if found else ""


def hash_word(text: str) -> str:
    """How a page's own rules name a style or a script: only this one counts."""
    digest = hashlib.sha256(text.encode()).digest()
    return f"sha256-{base64.b64encode(digest).decode()}"


def environment(*folders: Path) -> Environment:
    """Templates of these folders: every value escaped, a missing one an error."""
    return Environment(
        loader=FileSystemLoader([*folders, TEMPLATES]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )


@cache
def _style() -> str:
    return (TEMPLATES / "page.css").read_text("utf-8")


@cache
def _template() -> Template:
    made = environment()
    template = made.get_template("page.html.j2")
    template.globals["parts"] = made.get_template("parts.html.j2").module
    return template
