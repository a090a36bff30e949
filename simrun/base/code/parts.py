"""What is compiled of a function for those that call it: inlined there, and no code by itself."""

from __future__ import annotations

from typing import Any

from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import Compiler


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


class PartCompiler(Compiler):
    """Compiles a function as a part of its callers."""

    def __init__(self, typing: Any, target: Any, library: Any, *rest: Any) -> None:
        super().__init__(typing, target, library, *rest)
        self.state.library = _Part(target.codegen(), "part")
