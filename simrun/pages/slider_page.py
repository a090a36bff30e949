"""The page with sliders for the line: one file, its numbers and its script inside, nothing from outside."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup

from simrun.pages.cautions import CAUTION
from simrun.pages.frame import TEMPLATES, environment, hash_word


def slider_page(data: Mapping[str, Any], made_of: str, notes: Sequence[str]) -> str:
    """The page as text. data: figures told, the model's arrays, ranges and words, fit for JSON.

    Check: tests/journeys/test_estimate_page.py (in a browser: the same numbers as in Python).
    """
    script = (TEMPLATES / "estimate.js").read_text("utf-8")
    style = (TEMPLATES / "page.css").read_text("utf-8")
    style += (TEMPLATES / "estimate.css").read_text("utf-8")
    text = json.dumps(data, separators=(",", ":")).replace("<", "\\u003c")
    return (
        environment()
        .get_template("estimate.html.j2")
        .render(
            data=Markup(text),
            script=Markup(script),
            style=Markup(style),
            script_hash=hash_word(script),
            style_hash=hash_word(style),
            made_of=made_of,
            notes=notes,
            caution=CAUTION,
        )
    )
