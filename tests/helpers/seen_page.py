"""A page as a browser meets it."""

from __future__ import annotations

from html.parser import HTMLParser


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
