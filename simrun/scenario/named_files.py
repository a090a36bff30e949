"""Reading the files of a scenario: only plain files of a sane size that hold text."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path, PureWindowsPath

from simrun.base.decoding import decoded
from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.runners.results import Results, parse_results
from simrun.runners.seed_time import PlainTimes
from simrun.scenario.tables.values import LONGEST_NAME, shown_key

LARGEST_SCENARIO_BYTES = 2_000_000
LARGEST_ATTACHMENT_BYTES = 20_000_000


def file_words(path: Path) -> str:
    """What is a file called in a message: as it was given, on one line?"""
    text = str(path)
    return text if text.isprintable() else repr(text)[1:-1]


def read_text(path: Path, most_bytes: int) -> str:
    """The text of a plain file of at most `most_bytes`, UTF-8. Raises BadInput."""
    data = read_bytes(path, most_bytes)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = data.count(b"\n", 0, wrong.start) + 1
        problem = Problem(f"line {line}", "not UTF-8 text", "save the file as UTF-8")
        raise BadInput(problem).in_file(file_words(path)) from None


def read_list(path: Path) -> str:
    """The text of a list as a spreadsheet saved it. Raises BadInput."""
    try:
        return decoded(read_bytes(path, LARGEST_ATTACHMENT_BYTES))
    except BadInput as wrong:
        raise wrong.in_file(file_words(path)) from None


def read_bytes(path: Path, most_bytes: int) -> bytes:
    """What stands in a plain file of at most `most_bytes`. Raises BadInput."""
    try:
        return _bytes_of(path, most_bytes)
    except (OSError, ValueError) as wrong:
        raise _no_file(path, wrong) from None


def _bytes_of(path: Path, most_bytes: int) -> bytes:
    if path.exists() and not path.is_file():
        kind = "a folder" if path.is_dir() else "not a plain file"
        raise BadInput(Problem("file", kind, "a plain file is wanted", "", file_words(path)))
    with path.open("rb") as stream:
        data = stream.read(most_bytes + 1)
    if len(data) > most_bytes:
        found, allowed = "larger than allowed", f"at most {most_bytes / 1e6:g} MB"
        raise BadInput(Problem("file", found, allowed, "", file_words(path)))
    return data


def _no_file(path: Path, wrong: OSError | ValueError) -> BadInput:
    if isinstance(wrong, PermissionError):
        return BadInput(Problem("file", "may not be read", "ask for leave to read it")).in_file(
            file_words(path)
        )
    found, allowed = "no such file", "a file that exists"
    near = nearest_word(path.name[:LONGEST_NAME], _neighbours(path))
    return BadInput(Problem("file", found, allowed, near, file_words(path)))


def _neighbours(path: Path) -> list[str]:
    """The names of the files that lie where this one was looked for, at most a thousand."""
    try:
        names = sorted(entry.name for entry in path.parent.iterdir() if entry.is_file())
    except (OSError, ValueError):
        return []
    same_kind = [name for name in names if Path(name).suffix == path.suffix]
    return [name for name in same_kind if name.isprintable()][:1000]


def read_attachment(folder: Path, name: str, a_list: bool = False) -> str:
    """The text of a file beside the scenario; it may not lie outside the scenario's folder.

    a_list: may it be saved as spreadsheets do, in UTF-16 or Windows-1252 too? A drawing is UTF-8.
    """
    if _leaves(folder, name):
        allowed = "a file in the scenario's own folder or below it"
        raise BadInput(Problem("file", "lies elsewhere", allowed, "", shown_key(name)))
    try:
        if a_list:
            return read_list(folder / name)
        return read_text(folder / name, LARGEST_ATTACHMENT_BYTES)
    except BadInput as wrong:
        raise BadInput([_named(problem, name) for problem in wrong.problems]) from None


def _named(problem: Problem, name: str) -> Problem:
    return Problem(problem.key, problem.found, problem.allowed, problem.nearest, shown_key(name))


def _leaves(folder: Path, name: str) -> bool:
    """Does this name lead out of the folder, on any system, by a link too?"""
    parts = PureWindowsPath(name)
    if parts.drive or parts.root or ".." in parts.parts:
        return True
    try:
        return not (folder / name).resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError, ValueError):
        return True


def read_results(
    path: str | Path, races: Sequence[str] = (), plain: PlainTimes | None = None
) -> Results:
    """Last year's results at this path, of these races where it has several. Raises BadInput.

    plain: what the scenario says that 1620 in a list means.
    """
    place = Path(path)
    return parse_results(read_list(place), file_words(place), races, plain)
