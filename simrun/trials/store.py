"""Where are the races of a study kept? One sqlite file, one row and one blob an arm and seed.

Every group of races is one transaction, so a study killed at any moment picks up where it left off. A store
is written by one study at a time: the file is locked, and the lock goes with its process. Every race
begins with a seal, a digest of its arm, its seed and its bytes: one damaged later is noticed, and run
again by the study that goes on.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any

from numpy.lib.format import MAGIC_PREFIX

from simrun.base.errors import BadRecording, CannotWrite, notice
from simrun.base.version import VERSION
from simrun.engine.batch.together import CPU, ENGINES
from simrun.state.engine_digest import engine_digest
from simrun.trials.races import Outcome, Row, unpacked

FORMAT = 5
WITHOUT_SEALS = 4
"""Stores from before races were sealed are read as they stand, which is said."""

SEAL_BYTES = 16
APPLICATION = 0x51B_0A7E
"""Marks the file as a store of this package, so that no other database is ever written to."""

WAIT_S = 2.0
"""So long is waited for another study to let go of the file."""

_TABLES = (
    "CREATE TABLE about (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID",
    "CREATE TABLE arms (digest TEXT PRIMARY KEY, scenario TEXT NOT NULL) WITHOUT ROWID",
    "CREATE TABLE races (digest TEXT NOT NULL, seed INTEGER NOT NULL, outcome BLOB NOT NULL,\n"
    "                    PRIMARY KEY (digest, seed)) WITHOUT ROWID",
)


class Store:
    """An open store. `writing` makes it where it is missing, and keeps everybody else out.

    Raises CannotWrite where folder, disk or another study refuses, BadRecording where the file is
    something else, of another format, or is to be carried on by another state of the engine. The
    journal is a rollback journal: the file is whole by itself and can be read in a locked folder.
    """

    def __init__(self, path: str | Path, *, writing: bool = False, engine: str = CPU) -> None:
        self.path, self.engine = Path(path), _state_of(engine)
        with self._one_line():
            self._base = self._opened(writing)
            try:
                if writing:
                    self._make_ready()
                self._check(writing)
            except BaseException:
                self._base.close()
                raise

    def _opened(self, writing: bool) -> sqlite3.Connection:
        if writing:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            base = sqlite3.connect(self.path, timeout=WAIT_S, isolation_level=None)
            base.execute("PRAGMA locking_mode = EXCLUSIVE")
            return base
        if not self.path.is_file():
            raise BadRecording(f"{self.path}: no such store")
        return sqlite3.connect(f"{self.path.resolve().as_uri()}?mode=ro", uri=True, timeout=WAIT_S)

    def _make_ready(self) -> None:
        """Take the lock, and lay out an empty file in one transaction."""
        self._base.execute("BEGIN EXCLUSIVE")
        empty = self._one("SELECT count(*) FROM sqlite_master") == 0
        if empty and self._one("PRAGMA application_id") in (0, APPLICATION):
            for statement in _TABLES:
                self._base.execute(statement)
            about = {"format": FORMAT, "version": VERSION, "engine": self.engine, "tidy": 0}
            rows = [(key, str(value)) for key, value in about.items()]
            self._base.executemany("INSERT INTO about VALUES (?, ?)", rows)
            self._base.execute(f"PRAGMA application_id = {APPLICATION}")
        self._base.execute("COMMIT")

    def _check(self, writing: bool) -> None:
        if self._one("PRAGMA application_id") != APPLICATION:
            raise BadRecording(f"{self.path}: not a store of this package")
        if {sql for (sql,) in self._base.execute("SELECT sql FROM sqlite_master")} != set(_TABLES):
            # A view or a trigger of a stranger's would be carried out, and might never end.
            raise BadRecording(
                f"{self.path}: a damaged store: it holds more than our tables, or less"
            )
        about = self.about()
        old = about.get("format") == str(WITHOUT_SEALS)
        if old and not writing:
            unseen = (
                "a store from before every race had a checksum: damage to it would not be noticed"
            )
            notice(f"{self.path}: {unseen}")
        elif about.get("format") != str(FORMAT):
            found = f"a store of format {about.get('format')!r}, of another engine than this one"
            raise BadRecording(f"{self.path}: {found}, which reads {FORMAT}; choose another file")
        if writing and about.get("engine") != self.engine:
            found = f"its races were run by another state of the engine ({about.get('version')})"
            other = {_state_of(name): name for name in ENGINES}.get(about.get("engine", ""))
            if other:
                found = (
                    f"its races were run by the engine {other}, and those of two are never mixed"
                )
            raise BadRecording(f"{self.path}: {found}; choose another file")

    def about(self) -> dict[str, str]:
        """What the store says of itself: format, version, engine."""
        return dict(self._base.execute("SELECT key, value FROM about"))

    def add_arms(self, texts: dict[str, str]) -> None:
        """Keep what every arm says, by digest; one that is there already stays."""
        with self._one_line(), self._transaction():
            self._base.executemany("INSERT OR IGNORE INTO arms VALUES (?, ?)", texts.items())

    def add_races(self, rows: Iterable[Row]) -> None:
        """Keep races, all of them or, where the disk refuses, none."""
        kept = ((digest, seed, sealed(digest, seed, blob)) for digest, seed, blob in rows)
        with self._one_line(), self._transaction():
            self._base.executemany("INSERT OR REPLACE INTO races VALUES (?, ?, ?)", kept)
            self._base.execute("UPDATE about SET value = '0' WHERE key = 'tidy'")

    def tidy(self) -> None:
        """Lay the rows down in order: the same file however the study got there.

        But for sqlite's own counts of writes in the file's head.
        """
        with self._one_line():
            if self._one("SELECT value FROM about WHERE key = 'tidy'") == "1":
                return
            self._base.execute("VACUUM")
            self._base.execute("UPDATE about SET value = '1' WHERE key = 'tidy'")

    def kept(self) -> set[tuple[str, int]]:
        """Which races are there, as (digest, seed)?"""
        with self._one_line():
            return set(self._base.execute("SELECT digest, seed FROM races"))

    def arms(self) -> dict[str, str]:
        """What every arm says, by digest."""
        with self._one_line():
            return dict(self._base.execute("SELECT digest, scenario FROM arms"))

    def let_go_of_damaged(self) -> int:
        """Remove the races whose seals are broken, so that they are run again; says how many there were."""
        query = "SELECT digest, seed, outcome FROM races"
        with self._one_line():
            broken = [row[:2] for row in self._base.execute(query) if not _is_whole(*row)]
        if broken:
            with self._one_line(), self._transaction():
                self._base.executemany("DELETE FROM races WHERE digest = ? AND seed = ?", broken)
            races = "1 race" if len(broken) == 1 else f"{len(broken)} races"
            notice(f"{self.path}: {races} in this store had been damaged and will be run again")
        return len(broken)

    def outcomes(self, digest: str) -> Iterator[tuple[int, Outcome]]:
        """The races of one arm by seed, one at a time: memory does not grow with their number.

        Raises BadRecording at the first one that is damaged.
        """
        query = "SELECT seed, outcome FROM races WHERE digest = ? ORDER BY seed"
        with self._one_line():
            for seed, blob in self._base.execute(query, (digest,)):
                if not _is_whole(digest, seed, blob):
                    again = "run the study again, and it is run once more"
                    raise BadRecording(f"{self.path}: the race of seed {seed} is damaged; {again}")
                yield int(seed), unpacked(_unsealed(blob))

    def content_digest(self) -> str:
        """A short name for everything kept, in order: equal for equal content."""
        digest = hashlib.sha256()
        with self._one_line():
            for table in ("arms", "races"):
                for row in self._base.execute(f"SELECT * FROM {table} ORDER BY 1, 2"):
                    digest.update(repr(row).encode())
        return digest.hexdigest()

    def close(self) -> None:
        """Let go of the file."""
        self._base.close()

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _one(self, query: str) -> Any:
        return self._base.execute(query).fetchone()[0]

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        self._base.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._base.execute("COMMIT")
        except BaseException:
            if self._base.in_transaction:
                self._base.execute("ROLLBACK")
            raise

    @contextmanager
    def _one_line(self) -> Iterator[None]:
        """Whatever the file or the disk does not like, as one line of ours."""
        try:
            yield
        except OSError as refused:
            reason = refused.strerror or str(refused)
            raise CannotWrite(f"{self.path}: cannot be written: {reason}") from refused
        except sqlite3.OperationalError as refused:
            if "locked" in str(refused):
                busy = "another study is writing to it; wait until it ends"
                raise CannotWrite(f"{self.path}: {busy}") from refused
            if "decode" in str(refused):
                raise BadRecording(f"{self.path}: a damaged store: {_plain(refused)}") from refused
            raise CannotWrite(f"{self.path}: cannot be used: {_plain(refused)}") from refused
        except MemoryError as wrong:
            claims = "a damaged store: a row claims more than memory holds"
            raise BadRecording(f"{self.path}: {claims}") from wrong
        except (sqlite3.DatabaseError, ValueError, TypeError, OverflowError) as wrong:
            # A damaged file may hold text that is no text, or a number where bytes should be.
            raise BadRecording(
                f"{self.path}: not a store, or a damaged one: {_plain(wrong)}"
            ) from wrong


def kept_engine(path: str | Path) -> str | None:
    """By which engine were the races of this store run? None where there is no store, or of another state."""
    if not Path(path).is_file():
        return None
    with Store(path) as kept:
        state = kept.about().get("engine", "")
    return {_state_of(name): name for name in ENGINES}.get(state)


def _state_of(engine: str) -> str:
    """How a store names the state of an engine."""
    return engine_digest() if engine == CPU else f"{engine_digest()} {engine}"


def sealed(digest: str, seed: int, blob: bytes) -> bytes:
    """The bytes of a race as they are kept: its seal, and what was packed."""
    return _seal(digest, seed, blob) + blob


def _seal(digest: str, seed: int, blob: bytes) -> bytes:
    """What tells whether these are the bytes that were kept for that arm and seed."""
    return hashlib.sha256(f"{digest}\0{seed}\0".encode() + blob).digest()[:SEAL_BYTES]


def _is_whole(digest: str, seed: int, kept: bytes) -> bool:
    """Is this race as it was kept? One without a seal, of an older store, passes."""
    if not isinstance(kept, bytes):
        return False
    blob = _unsealed(kept)
    return blob is kept or kept[:SEAL_BYTES] == _seal(digest, seed, blob)


def _unsealed(kept: bytes) -> bytes:
    """The outcome's own bytes; an older store has nothing before them."""
    return kept if kept.startswith(MAGIC_PREFIX) else kept[SEAL_BYTES:]


def _plain(wrong: Exception) -> str:
    """What went wrong on one printable line: sqlite quotes whatever stands in the file."""
    return "".join(sign if sign.isprintable() else " " for sign in str(wrong))[:120]
