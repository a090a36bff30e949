"""A page as a browser meets it."""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path

from playwright.sync_api import Page

RULES = (Path(__file__).parents[2] / "shared" / "axe" / "axe.min.js").read_text("utf-8")
SERIOUS = {"serious", "critical"}


class Seen(HTMLParser):
    """Which tags and words does a browser meet, in order?"""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.given: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.given.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def broken(page: Page, elsewhere: str = "") -> list[str]:
    """Which serious rules does this page break now? Everything folded is opened first."""
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    page.evaluate(elsewhere or "0")
    page.evaluate(RULES)
    found = page.evaluate("axe.run(document, { resultTypes: ['violations'] })")["violations"]
    return [
        f"{rule['id']}: {node['html'][:160]}"
        for rule in found
        if rule["impact"] in SERIOUS
        for node in rule["nodes"]
    ]
