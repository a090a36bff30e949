"""List the licence of everything that simrun and its tests need, as CSV: name, version, needed by, licence.

.venv/bin/python .ci/licences.py > new.csv && mv new.csv shared/licences/licences.csv
"""

from __future__ import annotations

import csv
import sys
import tomllib
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

PROJECT = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text("utf-8"))[
    "project"
]

TABLE = Path(__file__).parents[1] / "shared" / "licences" / "licences.csv"

ALONE = {"numba-cuda"}
"""What it brings beside is of the maker of the card; none of it is carried or tested here."""

Row = tuple[str, ...]


def main() -> None:
    extras = PROJECT["optional-dependencies"]
    asked = [(text, "simrun") for text in PROJECT["dependencies"]]
    asked += [(text, f"extra {name}") for name, texts in extras.items() for text in texts]
    table = csv.writer(sys.stdout, lineterminator="\n")
    table.writerow(["name", "version", "needed by", "licence"])
    table.writerows(sorted(needed(asked)))


def needed(asked: list[tuple[str, str]]) -> list[Row]:
    """Every distribution that is needed here, directly or through others."""
    found: dict[str, Row] = {}
    kept = kept_rows()
    while asked:
        text, by = asked.pop(0)
        wanted = Requirement(text)
        name = canonicalize_name(wanted.name)
        if name in found or (wanted.marker and not wanted.marker.evaluate({"extra": ""})):
            continue
        try:
            here = distribution(name)
        except PackageNotFoundError:
            if name not in kept:
                sys.exit(f"{name} is not installed, and does not stand in {TABLE.name} yet")
            found[name] = kept[name]
            continue
        found[name] = (name, here.version, by, licence_of(here))
        if name not in ALONE:
            asked += [(inner, name) for inner in here.requires or []]
    return list(found.values())


def kept_rows() -> dict[str, Row]:
    """What the table says now, by name: for what is seldom installed, such as what a graphics card needs."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {row[0]: tuple(row) for row in csv.reader(file) if len(row) == 4}


def licence_of(here: object) -> str:
    """As the distribution says it: an expression, else a classifier, else the first line of its text."""
    about = here.metadata  # type: ignore[attr-defined]
    classifiers = [c for c in about.get_all("Classifier") or [] if c.startswith("License ::")]
    text = (about["License"] or "").strip().splitlines()
    short = text[0][:60] if text else ""
    return (
        about["License-Expression"]
        or "; ".join(c.rpartition("::")[2].strip() for c in classifiers)
        or short
        or "not said"
    )


if __name__ == "__main__":
    main()
