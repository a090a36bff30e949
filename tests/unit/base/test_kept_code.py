"""Compiled code on disk: whatever happens to it costs one line and one time of compiling."""

from __future__ import annotations

import math
import os
import random
import warnings
from collections.abc import Callable
from pathlib import Path

import numba
import pytest

from simrun.base.code.guarded import is_guarded
from simrun.base.code.kept_code import kept_in
from simrun.base.errors import Notice

pytestmark = pytest.mark.skipif(
    bool(os.environ.get("NUMBA_DISABLE_JIT")), reason="nothing is compiled in this run"
)
AS_ROOT = pytest.mark.skipif(
    not hasattr(os, "getuid") or os.getuid() != 0, reason="only root gives files away"
)
STRANGER = 54321
TOP = Path(__file__).parents[3]


def law(x: float) -> float:
    """A law to be compiled."""
    return math.sqrt(x) + 1.0


def other_law(x: float) -> float:
    """Another one."""
    return math.sqrt(x) - 1.0


def used(folder: Path, function: Callable[[float], float] = law) -> tuple[bool, float, list[str]]:
    """Was it found in the folder, what does it say of 4, and what was told?"""
    wrapped = numba.njit(function)
    wrapped._cache = kept_in(folder)(function)
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("once", Notice)
        answer = wrapped(4.0)
    return bool(wrapped.stats.cache_hits), answer, [str(each.message) for each in told]


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    folder = tmp_path / "kept"
    assert used(folder) == (False, 3.0, [])
    assert used(folder) == (True, 3.0, [])
    return folder


def flipped(data: bytes, bit: int) -> bytes:
    turned = bytearray(data)
    turned[bit // 8] ^= 1 << bit % 8
    return bytes(turned)


@pytest.mark.parametrize("ending", [pytest.param("nbi", marks=pytest.mark.slow), "nbc"])
@pytest.mark.parametrize(
    "spoilt",
    [
        lambda data: b"",
        lambda data: data[:20],
        lambda data: data[: len(data) // 2],
        lambda data: data + b"x",
        lambda data: flipped(data, random.Random(len(data)).randrange(8 * len(data))),
        lambda data: flipped(data, 8 * len(data) - 40),
        lambda data: data[32:],  # as numba itself would have written it
    ],
    ids=["empty", "head", "half", "longer", "bit", "last bits", "without a digest"],
)
def test_a_damaged_file_costs_one_line_and_one_compiling(
    kept: Path, ending: str, spoilt: Callable[[bytes], bytes]
) -> None:
    (file,) = kept.rglob(f"*.{ending}")
    file.write_bytes(spoilt(file.read_bytes()))
    found, answer, told = used(kept)
    assert (found, answer, len(told)) == (False, 3.0, 1)
    assert told[0] == f"{kept}: what is kept of the engine here is damaged; it is prepared anew"
    assert used(kept) == (True, 3.0, [])


def test_a_file_in_the_place_of_another_is_not_loaded(kept: Path) -> None:
    """Sound by itself, but it would be another law."""
    used(kept, other_law)
    for ending in ("nbi", "nbc"):
        files = {file.name.partition("-")[0]: file for file in kept.rglob(f"*.{ending}")}
        one, other = (
            next(f for n, f in files.items() if n.endswith(w)) for w in (".law", "other_law")
        )
        one.write_bytes(other.read_bytes())
    found, answer, told = used(kept)
    assert (found, answer, len(told)) == (False, 3.0, 1)


def test_code_without_its_index_and_an_index_without_its_code(kept: Path) -> None:
    """What is missing is compiled without a word."""
    for ending in ("nbi", "nbc"):
        next(kept.rglob(f"*.{ending}")).unlink()
        assert used(kept) == (False, 3.0, [])
        assert used(kept) == (True, 3.0, [])


def test_a_folder_that_refuses_costs_one_line(tmp_path: Path) -> None:
    """A file stands in its way, as a full or a locked disk would."""
    (tmp_path / "kept").write_text("")
    for _ in range(2):
        found, answer, told = used(tmp_path / "kept")
        assert (found, answer, len(told)) == (False, 3.0, 1)
        assert "cannot be kept here" in told[0]
        assert told[0].isprintable()


def test_nothing_is_left_where_the_disk_is_full(
    kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    for file in kept.rglob("*.nb?"):
        file.unlink()
    monkeypatch.setattr(os, "replace", full)
    found, _, told = used(kept)
    assert not found
    assert len(told) == 1
    assert "(No space left on device)" in told[0]
    assert [path for path in kept.rglob("*") if path.is_file()] == []


@AS_ROOT
def test_no_file_of_another_user_is_loaded(kept: Path) -> None:
    (file,) = kept.rglob("*.nbc")
    os.chown(file, STRANGER, STRANGER)
    found, answer, told = used(kept)
    assert (found, answer, len(told)) == (False, 3.0, 1)
    assert file.stat().st_uid == os.getuid()
    assert used(kept) == (True, 3.0, [])


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two folders below one that nobody else can write to."""
    made = tmp_path / "above" / "kept"
    made.mkdir(parents=True, mode=0o700)
    made.parent.chmod(0o755)
    return made


def test_a_folder_of_our_own_is_guarded(folder: Path) -> None:
    assert is_guarded(folder)


@pytest.mark.parametrize("mode", [0o770, 0o702, 0o777])
def test_others_may_not_write_into_it(folder: Path, mode: int) -> None:
    folder.chmod(mode)
    assert not is_guarded(folder)


def test_others_may_not_write_above_it(folder: Path) -> None:
    """Who can rename it can put another in its place; where only owners may, as in /tmp, nobody can."""
    folder.parent.chmod(0o777)
    assert not is_guarded(folder)
    folder.parent.chmod(0o1777)
    assert is_guarded(folder)


@AS_ROOT
def test_nothing_on_the_way_belongs_to_another(folder: Path, tmp_path: Path) -> None:
    """The folder is ours, one above is not; nor what a link leads through."""
    os.chown(folder.parent, STRANGER, STRANGER)
    assert not is_guarded(folder)
    (tmp_path / "link").symlink_to(folder.parent)
    assert not is_guarded(tmp_path / "link" / "kept")
    os.chown(folder.parent, 0, 0)
    assert is_guarded(tmp_path / "link" / "kept")
    os.lchown(tmp_path / "link", STRANGER, STRANGER)
    assert not is_guarded(tmp_path / "link" / "kept")
    assert is_guarded(folder)


def test_a_link_or_a_file_is_no_folder(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(folder)
    (tmp_path / "file").write_text("")
    assert not is_guarded(tmp_path / "link")
    assert not is_guarded(tmp_path / "file")
