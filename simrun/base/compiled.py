"""How are the scalar laws and the kernel compiled, and why is their cache never stale?

numba keeps compiled functions on disk, but looks only at the file a function stands in: edit a law
and a kernel in another file would go on with the old one. So the cache folder carries a digest of
every source file that holds compiled code, and of all that these import (constants are frozen in):
an edited law meets an empty folder. Old folders are removed.

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
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, TypeVar, cast

import numba
import platformdirs
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import Compiler
from numba.core.dispatcher import Dispatcher
from numba.core.event import Listener, install_listener

from simrun.base.errors import notice
from simrun.base.kept_code import is_guarded, kept_in

Function = TypeVar("Function", bound=Callable[..., Any])

KEPT_FOLDERS = 5
"""How many cache folders stay, whatever their age: a developer goes to and fro between versions."""

UNUSED_S = 24 * 3600.0
"""A folder beyond those is removed once it has not been used for so long: nobody is running on it."""

KERNEL = "run_steps"
"""The function that steps a race; nearly all that is compiled is compiled for it."""

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
    """A short name for the present text of `paths`, for where they are and for the compiler.

    Where they are counts because numba keeps another copy of the package apart.
    """
    digest = hashlib.sha256(f"{numba.__version__} {sys.implementation.cache_tag}".encode())
    for path in paths:
        digest.update(f"\0{path}\0".encode() + path.read_bytes())
    return digest.hexdigest()[:16]


def _cache_folder() -> Path | None:
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


CACHE_FOLDER = _cache_folder()
_KEPT = kept_in(CACHE_FOLDER) if CACHE_FOLDER else None


class Compiling(Listener):
    """What is being compiled now, and how long has it taken? Nothing that is loaded from the cache counts.

    `told` is called once, when the kernel's turn comes: all else takes a second, the kernel the rest.
    """

    def __init__(self, told: Callable[[], None] | None = None) -> None:
        self.seconds = 0.0
        self._told, self._under_way, self._begun_s = told, 0, 0.0

    def on_start(self, event: Any) -> None:
        """A function begins, perhaps inside another that needs it."""
        if not self._under_way:
            self._begun_s = time.perf_counter()
        self._under_way += 1
        if self._told and event.data["dispatcher"].py_func.__name__ == KERNEL:
            told, self._told = self._told, None
            told()

    def on_end(self, event: Any) -> None:
        """A function is ready."""
        self._under_way -= 1
        if not self._under_way:
            self.seconds += time.perf_counter() - self._begun_s


@contextmanager
def watched(told: Callable[[], None] | None = None) -> Iterator[Compiling]:
    """Is anything compiled inside this block, and for how long?

    numba says so itself: what it will do cannot be told from the files that it keeps.
    Check: tests/unit/cli/test_compiled.py.
    """
    with install_listener("numba:compile", Compiling(told)) as watch:
        yield watch


def compiled(function: Function) -> Function:
    """Compile a scalar law or a kernel that makes no array: cached, letting the interpreter go, no
    fast-math.

    Compiled into its callers, and arrays are not counted (nothing is made that could be let go): numba
    otherwise counts them at every call, which was a third of a step. Not one bit differs.
    """
    return _compiled(function, _nrt=False)


def compiled_with_arrays(function: Function) -> Function:
    """The same for a function that makes arrays, or calls one that does."""
    return _compiled(function)


class _Part(JITCodeLibrary):
    """What is compiled of a function for its callers: a part of their code, and no code of its own.

    numba makes every function ready to be called by itself, though all of it is inlined into the
    kernel: optimised once a level on the way up, and put into machine code each time.
    """

    def finalize(self) -> None:
        """Put together what this function and those it calls are made of, as it stands."""
        for library in dict.fromkeys(self._linking_libraries):
            self._final_module.link_in(library._get_module_for_linking(), preserve=True)
        self._finalized = True

    def get_pointer_to_function(self, name: str) -> int:
        """Nothing that could be called."""
        self._ensure_finalized()
        return 0

    @property
    def codegen(self) -> Any:
        """Whom numba tells where the function's environment lies: there is no place to keep it."""
        return self

    def set_env(self, name: str, env: Any) -> None:
        """Not needed: no Python object is reached from here. What is raised is told all the same."""


class _PartCompiler(Compiler):
    """Compiles a function as a part of its callers."""

    def __init__(self, typing: Any, target: Any, library: Any, *rest: Any) -> None:
        super().__init__(typing, target, library, *rest)
        self.state.library = _Part(target.codegen(), "part")


def _compiled(function: Function, **options: Any) -> Function:
    options |= {"nogil": True, "error_model": "numpy", "forceinline": True}
    wrapped: Any = numba.njit(**options)(function)
    if isinstance(wrapped, Dispatcher):  # else it stays plain Python
        if _KEPT is not None:
            cast(Any, wrapped)._cache = _KEPT(function)
        options |= {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
        part: Any = numba.njit(pipeline_class=_PartCompiler, **options)(function)
        # Callers ask these two for a function that they call.
        cast(Any, wrapped).get_call_template = part.get_call_template
        cast(Any, wrapped).get_overload = part.get_overload
    return cast(Function, wrapped)
