"""How is the house read? Every file of the package with its imports: lazy, relative and for types only."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "simrun"
FILES = sorted(PACKAGE.rglob("*.py"))

FLOORS = [
    {"__main__"},
    {"cli"},
    {"desk"},
    {"answers"},
    {"pages"},
    {"trials"},
    {"pictures", "measure"},
    {"engine"},
    {"tactics", "laws"},
    {"state"},
    {"scenario"},
    {"course", "runners"},
    {"sources"},
    {"base"},
]
FLOOR = {room: number for number, rooms in enumerate(FLOORS) for room in rooms}


def name_of(path: Path, package: Path = PACKAGE) -> tuple[str, ...]:
    """The module's dotted name in parts; a folder's own file bears the folder's name."""
    parts = path.relative_to(package.parent).with_suffix("").parts
    return parts[:-1] if parts[-1] == "__init__" else parts


def imported(tree: ast.AST, path: Path, package: Path = PACKAGE) -> list[str]:
    """Every name that is imported anywhere in a file, relative ones made absolute."""
    inside = path.relative_to(package.parent).parts[:-1]
    names = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = inside[: len(inside) - node.level + 1] if node.level else ()
            stem = ".".join([*base, *([node.module] if node.module else [])])
            names += [stem, *(f"{stem}.{alias.name}" for alias in node.names)]
    return names


def tree_of(path: Path) -> ast.Module:
    """The file, parsed."""
    return ast.parse(path.read_text("utf-8"))


def graph(package: Path = PACKAGE) -> dict[str, set[str]]:
    """Which module of the package imports which others?"""
    files = {".".join(name_of(path, package)): path for path in sorted(package.rglob("*.py"))}
    return {
        name: _within(imported(tree_of(path), path, package), files) - {name}
        for name, path in files.items()
    }


def _within(names: list[str], files: dict[str, Path]) -> set[str]:
    """The modules meant: `from a import b` means a.b where that is a module, and else a."""
    found = {name for name in names if name in files}
    inner = {name.rpartition(".")[0] for name in found}
    # A package that is named only on the way to one of its modules is not imported for its own sake.
    return {name for name in found if name not in inner or files[name].name != "__init__.py"}


def circles(edges: dict[str, set[str]]) -> list[list[str]]:
    """Every set of modules that lead back to one another (Tarjan 1972, strongly connected components)."""
    index: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    found: list[list[str]] = []

    def visit(name: str) -> None:
        index[name] = low[name] = len(index)
        stack.append(name)
        for other in sorted(edges.get(name, ())):
            if other not in index:
                visit(other)
                low[name] = min(low[name], low[other])
            elif other in stack:
                low[name] = min(low[name], index[other])
        if low[name] == index[name]:
            at = stack.index(name)
            part = stack[at:]
            del stack[at:]
            if len(part) > 1:
                found.append(sorted(part))

    for name in sorted(edges):
        if name not in index:
            visit(name)
    return found


def strings(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Every text in a file that is no docstring: line and words, the parts of an f-string together."""
    skipped = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            skipped |= {id(part) for part in node.values}
            parts = [str(p.value) if isinstance(p, ast.Constant) else "x" for p in node.values]
            yield node.lineno, "".join(parts)
    for node in ast.walk(tree):
        text = node.value if isinstance(node, ast.Constant) else None
        if isinstance(text, str) and id(node) not in skipped:
            yield getattr(node, "lineno", 0), text
