"""How is compiled code kept on disk, so that neither an accident nor another user gets into a race?

numba's own cache raises whatever a damaged file sets off, and loads whosever file stands there. Here every
file begins with a digest of its place and its content, and belongs to us or to the system; what does not is
told on one line and compiled anew. What cannot be written is told, and compiled again another time.
What a released package brings along is looked at first (`made_ahead.py`).

Check: tests/unit/base/test_kept_code.py spoils every file of a cache in turn.
"""

from __future__ import annotations

import hashlib
import os
import pickle
from contextlib import suppress
from pathlib import Path
from typing import Any

from numba.core.caching import (
    CompileResultCacheImpl,
    FunctionCache,
    IndexDataCacheFile,
)

from simrun.base.code.guarded import trusted
from simrun.base.code.made_ahead import BASELINE, folder_ahead
from simrun.base.errors import CannotWrite, notice
from simrun.base.writing import written_beside

DIGEST_BYTES = 32

_PACKAGE = Path(__file__).parents[2]


def kept_in(folder: Path) -> type[FunctionCache]:
    """The kind of cache that a compiled function has whose code is kept in this folder."""

    class Place(_Place):
        kept_in = folder

    class Results(CompileResultCacheImpl):
        _locator_classes = [Place]  # noqa: RUF012 (as numba declares it)

    class Kept(_Kept):
        _impl_class: Any = Results
        kept_in = folder

    return Kept


class _Place:
    """Where in that folder a function is kept, whether or not it can be written to just now.

    The stamp of its source is the folder's name, which is a digest of every source there is. A room of the
    package has its own name, wherever the package lies; any other folder is told apart by a digest.
    """

    kept_in: Path

    def __init__(self, function: Any, file: str) -> None:
        room = Path(file).parent
        self.room = _name_of(room)
        self._path = self.kept_in / self.room
        self._line = function.__code__.co_firstlineno

    @classmethod
    def from_function(cls, function: Any, file: str) -> _Place:
        return cls(function, file)

    def ensure_cache_path(self) -> None:
        self._path.mkdir(parents=True, exist_ok=True, mode=0o700)

    def get_cache_path(self) -> str:
        return str(self._path)

    def get_source_stamp(self) -> str:
        return self.kept_in.name

    def get_disambiguator(self) -> str:
        return str(self._line)


def _name_of(room: Path) -> str:
    if room.is_relative_to(_PACKAGE):
        return "_".join(room.relative_to(_PACKAGE.parent).parts)
    return f"{room.name}_{hashlib.sha256(str(room).encode()).hexdigest()[:16]}"


class _Kept(FunctionCache):
    """numba's cache of one function, for which nothing that happens to its files is an error."""

    kept_in: Path

    def __init__(self, function: Any) -> None:
        super().__init__(function)
        room, name = self._impl.locator.room, self._impl.filename_base
        self._cache_file = _Files(self.kept_in, room, name)
        ahead = folder_ahead(self.kept_in.name)
        self._ahead = None if ahead is None else _Ahead(ahead, room, name)

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """What was compiled for these types; None where nothing is kept that may be loaded."""
        return self._made_ahead(sig, target_context) or self._made_here(sig, target_context)

    def _made_here(self, sig: Any, target_context: Any) -> Any:
        try:
            return super().load_overload(sig, target_context)
        except Exception:
            _tell_damaged(self.kept_in)
            return None

    def _made_ahead(self, sig: Any, target_context: Any) -> Any:
        """The same of what came with the package: compiled for the baseline, whatever machine this is."""
        if self._ahead is None:
            return None
        target_context.refresh()
        types, (system, *_), text = self._index_key(sig, target_context.codegen())
        try:
            data = self._ahead.load((types, (system, BASELINE, ""), text))
            return data and self._impl.rebuild(target_context, data)
        except Exception:
            _tell_damaged(self._ahead.folder)
            return None

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep what was compiled just now, if the disk lets us."""
        try:
            super().save_overload(sig, data)
        except (OSError, CannotWrite) as refused:
            wrong = refused.__cause__ if isinstance(refused, CannotWrite) else refused
            reason = getattr(wrong, "strerror", None) or str(wrong)
            notice(
                f"{self.kept_in}: the prepared engine cannot be kept here ({reason}); it is prepared "
                "again every time until it can"
            )


class _Files(IndexDataCacheFile):
    """The index of a function's types, and the code for each of them."""

    def __init__(self, folder: Path, room: str, name: str) -> None:
        super().__init__(str(folder / room), name, folder.name)
        self.folder = folder

    def _load_index(self) -> dict[Any, Any]:
        stamp, overloads = self._read(self._index_path) or (None, {})
        return overloads if stamp == self._source_stamp else {}

    def _save_index(self, overloads: dict[Any, Any]) -> None:
        self._write(self._index_path, (self._source_stamp, overloads))

    def _load_data(self, name: str) -> Any:
        return self._read(self._data_path(name))

    def _save_data(self, name: str, data: Any) -> None:
        self._write(self._data_path(name), data)

    def _read(self, path: str) -> Any:
        """What was kept at this path; None where nothing is, or nothing that may be loaded."""
        try:
            with open(path, "rb") as file:
                owner, data = os.fstat(file.fileno()).st_uid, file.read()
        except OSError:
            return None
        digest, kept = data[:DIGEST_BYTES], data[DIGEST_BYTES:]
        if not self._trusts(owner) or digest != self._digest(path, kept):
            _tell_damaged(self.folder)
            self._remove(path)
            return None
        return pickle.loads(kept)

    def _trusts(self, owner: int) -> bool:
        return owner in trusted()

    def _remove(self, path: str) -> None:
        with suppress(OSError):
            os.unlink(path)

    def _write(self, path: str, kept: Any) -> None:
        data = self._dump(kept)
        with written_beside(path) as beside:
            beside.write_bytes(self._digest(path, data) + data)

    def _digest(self, path: str, data: bytes) -> bytes:
        """Of where it is kept, too: a file put in another's place is no good."""
        place = os.path.relpath(path, self.folder.parent)
        return hashlib.sha256(place.encode() + b"\0" + data).digest()


class _Ahead(_Files):
    """The same, come with the package: never written, and whoever could write there could write the modules
    beside it as well, so it is believed as they are."""

    def _trusts(self, owner: int) -> bool:
        return True

    def _remove(self, path: str) -> None:
        """Left where it is: what is installed is the installer's."""


def _tell_damaged(folder: Path) -> None:
    notice(f"{folder}: what is kept of the engine here is damaged; it is prepared anew")
