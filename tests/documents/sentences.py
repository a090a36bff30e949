"""Every sentence that a person may read, in one list to be read aloud.

    python -m tests.documents.sentences > tests/documents/sentences.txt

Taken from the text of the code itself: words, pages, the door, what every kind says of itself. An x stands
where a figure or a name goes in. Whoever changes a sentence changes the list, and reads it again as a coach.
"""

from __future__ import annotations

import ast
import re

from tests.architecture.house import PACKAGE, strings

ROOMS = ("pages/", "cli/")
FILES = ("words.py", "_words.py", "__init__.py")
FEWEST_WORDS = 3

QUOTED = re.compile(r'"([^"\n]+)"|`([^`\n]+)`')
PLAIN = re.compile(r"[A-Za-z]{2,},? [a-z]+,? [a-z]")
IN_BETWEEN = re.compile(r"\$\{.*?\}")


def is_read(where: str) -> bool:
    """Does this file hold words for a person?"""
    of_kind = where.startswith(("answers/", "desk/")) and where.endswith(FILES)
    return of_kind or where.startswith(ROOMS) or where == "answers/options.py"


def sentences() -> list[str]:
    """File by file, in the order of the code."""
    lines = []
    for path in sorted(PACKAGE.rglob("*.py")):
        where = path.relative_to(PACKAGE).as_posix()
        found = list(strings(ast.parse(path.read_text("utf-8")))) if is_read(where) else []
        told = [words for _, words in sorted(found) if len(words.split()) >= FEWEST_WORDS]
        if told:
            lines += [f"# {where}", *(" ".join(words.split()) for words in told), ""]
    return lines + on_the_desk()


def on_the_desk() -> list[str]:
    """What the page of the desk says, script by script: its texts of three words and more."""
    lines = []
    for path in sorted((PACKAGE / "desk" / "web").glob("*.js")):
        told = [one or other for one, other in QUOTED.findall(path.read_text("utf-8"))]
        told = [IN_BETWEEN.sub("x", words) for words in told if PLAIN.search(words)]
        lines += [f"# desk/web/{path.name}", *told, ""]
    return lines


if __name__ == "__main__":
    print("\n".join(sentences()))
