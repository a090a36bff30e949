"""How are the scalar laws and the kernel compiled, and why is their cache never stale?

numba keeps compiled functions on disk, but looks only at the file a function stands in: edit a law
and a kernel in another file would go on with the old one. So the cache folder carries a digest of
every source file that holds compiled code: an edited law meets an empty folder.

Check: tests/unit/test_compiled.py edits a law in a copy of the package and sees the new answer.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba
import platformdirs

Function = TypeVar("Function", bound=Callable[..., Any])

_MARK = "@compiled"


def kernel_sources() -> list[Path]:
    """Which files hold compiled code? Every module of the package that uses the decorator."""
    package = Path(__file__).parent
    return [path for path in sorted(package.rglob("*.py")) if _MARK in path.read_text("utf-8")]


def digest_of(paths: list[Path]) -> str:
    """A short name for the present text of `paths` and for the compiler's version."""
    digest = hashlib.sha256(numba.__version__.encode())
    for path in paths:
        digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:16]


def _cache_folder() -> Path:
    name = digest_of(kernel_sources())
    for root in (platformdirs.user_cache_path("simrun"), Path(tempfile.gettempdir()) / "simrun"):
        folder = root / name
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            return folder
    return Path(tempfile.mkdtemp(prefix="simrun-"))


CACHE_FOLDER = _cache_folder()
numba.config.CACHE_DIR = str(CACHE_FOLDER)  # type: ignore[attr-defined]


def is_cold() -> bool:
    """Will the next race have to compile first? True on first use and after a law was edited."""
    return not any(CACHE_FOLDER.rglob("*run_steps*.nbc"))


def compiled(function: Function) -> Function:
    """Compile a scalar law or a kernel: cached, releasing the interpreter, no fast-math."""
    wrapped: Any = numba.njit(cache=True, nogil=True, error_model="numpy")(function)
    return cast(Function, wrapped)
