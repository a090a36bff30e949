"""How are the scalar laws and the kernel compiled, and why is their cache never stale?

numba keeps compiled functions on disk, but looks only at the file a function stands in: edit a law
and a kernel in another file would go on with the old one. So the cache folder carries a digest of
every source file that holds compiled code, and of all that these import (constants are frozen in):
an edited law meets an empty folder. Old folders are removed. A released package brings such a folder of
its own, made ahead (`code/made_ahead.py`).

Check: tests/unit/cli/test_compiled.py edits a law in a copy of the package and sees the new answer.
"""

from __future__ import annotations

import ast
import atexit
import hashlib
import os
import re
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import lru_cache, update_wrapper
from pathlib import Path
from threading import RLock
from typing import Any, TypeVar, cast

import platformdirs

from simrun.base.code.guarded import is_guarded
from simrun.base.errors import notice

Function = TypeVar("Function", bound=Callable[..., Any])

KEPT_FOLDERS = 5
"""How many cache folders stay, whatever their age: a developer goes to and fro between versions."""

UNUSED_S = 24 * 3600.0
"""A folder beyond those is removed once it has not been used for so long: nobody is running on it."""

_PACKAGE = Path(__file__).parents[1]
_MARK = "compiled import compiled"
_NAME = re.compile(r"[0-9a-f]{16}")


def kernel_sources() -> list[Path]:
    """Which files decide what is compiled? Those with compiled code, all that they import, this one."""
    waiting = [path for path in _PACKAGE.rglob("*.py") if _MARK in path.read_text("utf-8")]
    found = {Path(__file__), *waiting}
    while waiting:
        fresh = set(_imported_by(waiting.pop())) - found
        found |= fresh
        waiting += fresh
    return sorted(found)


def _imported_by(path: Path) -> Iterator[Path]:
    """The files of the package that the module at `path` imports, wherever in it the import stands."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            room = path.relative_to(_PACKAGE.parent).parts[: -node.level] if node.level else ()
            base = ".".join([*room, *([node.module] if node.module else [])])
            names = [base, *(f"{base}.{alias.name}" for alias in node.names)]
        else:
            continue
        for name in names:
            if name.partition(".")[0] != _PACKAGE.name:
                continue
            module = _PACKAGE.parent.joinpath(*name.split("."))
            yield from (
                p for p in (module.with_suffix(".py"), module / "__init__.py") if p.is_file()
            )


def digest_of(paths: list[Path]) -> str:
    """A short name for the present text of `paths`, for where in the package they are and for the compiler.

    Where the package lies is no matter: what one copy of it made is as good for another of the same text.
    """
    from llvmlite import __version__ as assembler
    from numba import __version__ as compiler

    told = f"{compiler} {assembler} {sys.implementation.cache_tag}"
    digest = hashlib.sha256(told.encode())
    for path in paths:
        ours = path.is_relative_to(_PACKAGE)
        place = path.relative_to(_PACKAGE).as_posix() if ours else str(path)
        digest.update(f"\0{place}\0".encode() + path.read_bytes())
    return digest.hexdigest()[:16]


@lru_cache(maxsize=1)
def cache_folder() -> Path | None:
    """A folder that only we can write to: the user's cache, else the temporary folder, else a new one.

    What is kept is loaded as code. None where no folder can be had.
    """
    name = digest_of(kernel_sources())
    for root in _roots():
        folder = root / name
        with suppress(OSError):
            for made in (root, folder):
                made.mkdir(parents=True, exist_ok=True, mode=0o700)
            if is_guarded(folder):
                os.utime(folder)
                _remove_old(root)
                return folder
            notice(f"{root}: others may write here, so the prepared engine is not kept in it")
    return _folder_for_now()


def _roots() -> Iterator[Path]:
    user = os.getuid() if hasattr(os, "getuid") else "user"
    yield platformdirs.user_cache_path("simrun")
    with suppress(OSError):  # there may be no temporary folder at all
        yield Path(tempfile.gettempdir(), f"simrun-{user}")


def _folder_for_now() -> Path | None:
    """A folder that goes with this process."""
    notice(
        "no folder of our own was found to keep the prepared engine in: it is prepared every time"
    )
    try:
        folder = Path(tempfile.mkdtemp(prefix="simrun-"))
    except OSError:
        return None
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def _remove_old(root: Path) -> None:
    """Remove the cache folders that nobody has used for long, but for the newest few."""
    used_s = {}
    for path in root.iterdir():
        with suppress(OSError):  # somebody else may have removed it just now
            if _NAME.fullmatch(path.name) and not path.is_symlink():
                used_s[path] = path.stat().st_mtime
    for path in sorted(used_s, key=used_s.__getitem__)[:-KEPT_FOLDERS]:
        if used_s[path] < time.time() - UNUSED_S:
            shutil.rmtree(path, ignore_errors=True)


class Deferred:
    """A function that is compiled once it is called, from Python or by another that is compiled.

    The compiler takes half a second to load; who only reads or measures a course never waits for it.
    """

    def __init__(self, function: Callable[..., Any], **options: Any) -> None:
        update_wrapper(self, function)
        self._function, self._options = function, options

    @property
    def dispatcher(self) -> Any:
        """What the compiler makes of it: one, whoever asks first."""
        made = vars(self).get("_made")
        if made is None:
            from simrun.base.code.compiling import dispatcher_of

            with _ONE_AT_A_TIME:
                made = vars(self).get("_made")
                made = made or dispatcher_of(self._function, cache_folder(), **self._options)
                self._made = made
        return made

    def __call__(self, *given: Any) -> Any:
        return self.dispatcher(*given)

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__"):
            raise AttributeError(name)
        return getattr(self.dispatcher, name)


_ONE_AT_A_TIME = RLock()


def compiled(function: Function) -> Function:
    """Compile a scalar law or a kernel that makes no array: cached, letting the interpreter go, no
    fast-math.

    Compiled into its callers, and arrays are not counted (nothing is made that could be let go): numba
    otherwise counts them at every call, which was a third of a step. Not one bit differs.
    """
    return _deferred(function, _nrt=False)


def compiled_with_arrays(function: Function) -> Function:
    """The same for a function that makes arrays, or calls one that does."""
    return _deferred(function)


def _deferred(function: Function, **options: Any) -> Function:
    if os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0"):
        return function  # plain Python, for debugging
    return cast(Function, Deferred(function, **options))
