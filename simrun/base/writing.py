"""How is a file written so that nothing is ever half there? Beside its place, then moved into it."""

from __future__ import annotations

import errno
import os
import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from simrun.base.errors import CannotWrite
from simrun.base.stopped import in_one_piece


@contextmanager
def written_beside(path: str | Path) -> Iterator[Path]:
    """A path to write to, in the same folder; moved to `path` when all went well, else removed.

    Raises CannotWrite when the folder or the disk refuses.
    """
    target = Path(path)
    beside = target.with_name(f".{target.stem}.{secrets.token_hex(4)}{target.suffix}")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        yield beside
        os.replace(beside, target)
    except OSError as refused:
        reason = refused.strerror or str(refused)
        raise CannotWrite(f"{target}: cannot be written: {reason}") from refused
    finally:
        with in_one_piece(), suppress(OSError):
            beside.unlink(missing_ok=True)


@contextmanager
def written_together(folder: Path) -> Iterator[Path]:
    """A folder to write a set of files to; all are moved to `folder` when all are there, else none.

    So that two runs at once, or one that is stopped, leave no set of which half is another race's.
    Raises CannotWrite, naming the file where it was to stand.
    """
    beside = folder / f".{secrets.token_hex(4)}"
    try:
        beside.mkdir(parents=True)
        yield beside
        files = sorted(beside.iterdir())
        for file in files:
            if (folder / file.name).is_dir():  # found before the first is moved
                raise IsADirectoryError(errno.EISDIR, f"{file.name} is a folder")
        with in_one_piece():
            for file in files:
                os.replace(file, folder / file.name)
    except CannotWrite as refused:
        raise CannotWrite(str(refused).replace(str(beside), str(folder))) from refused
    except OSError as refused:
        reason = refused.strerror or str(refused)
        raise CannotWrite(f"{folder}: cannot be written: {reason}") from refused
    finally:
        with in_one_piece():
            shutil.rmtree(beside, ignore_errors=True)


def write_text(path: str | Path, text: str) -> Path:
    """Write a text file in one piece."""
    with written_beside(path) as beside:
        beside.write_text(text, encoding="utf-8", newline="\n")
    return Path(path)


def write_bytes(path: str | Path, data: bytes) -> Path:
    """Write a file of bytes, such as a picture, in one piece."""
    with written_beside(path) as beside:
        beside.write_bytes(data)
    return Path(path)


def ready_folder(path: str | Path) -> Path:
    """The folder, made and tried before long work begins, so that nothing is lost after it.

    Raises CannotWrite when the folder or the disk refuses.
    """
    folder = Path(path)
    with in_one_piece():
        with written_beside(folder / ".tried") as beside:
            beside.write_bytes(b"")
        with suppress(OSError):
            (folder / ".tried").unlink()
    return folder
