"""A walk opened in a browser: it must go wrong in nothing and ask for nothing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page


def opened(browser: Browser, file: Path, **size: Any) -> Iterator[Page]:
    """The page, ready; fails afterwards where anything went wrong in it or it asked for anything."""
    context = browser.new_context(**size)
    page = context.new_page()
    wrong: list[str] = []
    asked: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda told: wrong.append(told.text) if told.type == "error" else None)
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    page.wait_for_selector("body[data-ready]")
    yield page
    assert wrong == []
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    context.close()


def title(page: Page) -> str:
    return page.locator(".slide.now :is(h1, h2)").inner_text()


def sheets(page: Page, paper: str) -> int:
    """On how many sheets of this paper is it printed?"""
    return len(re.findall(rb"/Type\s*/Page[^s]", page.pdf(format=paper)))
