"""A page of a PDF as the picture of a map: painted in a process that can do no harm here."""

from __future__ import annotations

import base64
import subprocess
import sys
from pathlib import Path
from typing import Any

from simrun.base.errors import BadInput, Problem

PAINTER = Path(__file__).with_name("map_painter.py")
LONGEST_S = 30
NO_SUCH_PAGE, TOO_MANY_PAGES = 3, 4
BEGINS_WITHIN = 1024
"""The mark of a PDF stands somewhere in so many first bytes (ISO 32000, annex H)."""


def map_page(data: bytes, number: int) -> dict[str, Any]:
    """The page of this number, from 1: how many pages there are, and the picture as a JPEG in base64.

    Raises BadInput for what is no PDF, is locked, has no such page, or takes too long.
    Check: tests/unit/desk/test_map_page.py.
    """
    if b"%PDF-" not in data[:BEGINS_WITHIN]:
        raise _refused("no PDF", "a PDF, a PNG or a JPEG")
    words = [sys.executable, "-I", str(PAINTER), str(number)]
    try:
        done = subprocess.run(
            words, input=data, capture_output=True, timeout=LONGEST_S, check=False
        )
    except subprocess.TimeoutExpired:
        raise _refused(
            "a page that takes too long to paint", "a simpler file, or a picture"
        ) from None
    if done.returncode == NO_SUCH_PAGE:
        raise _refused(f"no page {number}", "a page that the file has")
    if done.returncode == TOO_MANY_PAGES:
        raise _refused("hundreds of pages", "the map's page alone")
    pages, _, picture = done.stdout.partition(b"\n")
    if done.returncode or not pages.isdigit():
        raise _refused("a PDF that cannot be read", "one without a password, or a picture of it")
    return {"pages": int(pages), "picture": base64.b64encode(picture).decode()}


def _refused(found: str, allowed: str) -> BadInput:
    return BadInput(Problem("map", found, allowed))
