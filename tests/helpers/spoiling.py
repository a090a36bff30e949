"""Spoiling a good file, as strangers, broken disks and hurried hands do. Every draw comes from `rng`."""

from __future__ import annotations

import io
import json
import re
import sqlite3
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from simrun.trials.store import SEAL_BYTES, sealed

PIECES = [b"", b'"', b",", b";", b"\n", b"\r", b"\x00", b"\xff", b"\xef\xbb\xbf", b"9" * 40, b"-"]
PIECES += [
    b"e9",
    b"nan",
    b"inf",
    b"1e400",
    b"=",
    b"[",
    b"]",
    b"[[",
    b"{}",
    b"<",
    b">",
    b"&lol;",
    b"18:20",
]
VALUES = [
    b"0",
    b"-0",
    b"nan",
    b"inf",
    b"-inf",
    b"1e999",
    b"true",
    b"[]",
    b"{}",
    b"180",
    b"90",
    b"1",
    b"2",
    b"0.6",
]
TOKEN = re.compile(rb'"[^"\n]*"|[-+]?[\w.]+|\s+|.', re.DOTALL)
ODD = [None, True, 0, -1, 1e308, -1e308, float("nan"), float("inf"), 10**30, 1e-12, 90, -180.0]
ODD += ["", "x", "left", "barrier", "turn", "\ud800", "a\nb", "Polygon", "LineString"]
ODD += [[], {}, [[]], [0, 0], [[0, 0], [0, 0]]]
NUMBERS = [np.nan, np.inf, -np.inf, 0.0, -1.0, 1e308, -1e308, 7.0, 2.0**31, 2.0**62, -2.5, 1e-300]
KINDS = ["f4", "c16", "U5", "i1", "u8", "?", "S3", "M8[s]", "m8[s]", "f2", ">f8", "i8"]
WORDS = ["", "own", "inside", "x\n<b>", "</script>", "=1+1", "a\x00b", "\ud800", None, 3, ["x"]]


def spoil_bytes(data: bytes, rng: Random) -> bytes:
    """One to five stretches cut out, doubled, or replaced by something that is often not foreseen."""
    spoilt = bytearray(data)
    for _ in range(rng.choice([1, 1, 2, 5])):
        at = rng.randrange(len(spoilt) + 1)
        to = min(len(spoilt), at + rng.choice([0, 1, 3, 40]))
        byte, twice = bytes([rng.randrange(256)]), bytes(spoilt[at:to]) * 2
        spoilt[at:to] = rng.choice([*PIECES, byte, twice])
    return bytes(spoilt)


def spoil_words(data: bytes, rng: Random) -> bytes:
    """One to three words or numbers replaced, mostly such that the file's own grammar still holds."""
    words = TOKEN.findall(data)
    places = [at for at, word in enumerate(words) if word[:1].isalnum() or word[:1] in b'-"']
    if not places or rng.random() < 0.2:
        return spoil_bytes(data, rng)
    for _ in range(rng.choice([1, 1, 2, 3])):
        at = rng.choice(places)
        number = (
            f"{rng.choice([-1, 1]) * 10 ** rng.uniform(-12, 12):.{rng.randrange(12)}f}".encode()
        )
        words[at] = rng.choice([number, words[rng.choice(places)], b'""', *VALUES])
    return b"".join(words)


def spoil_json(data: bytes, rng: Random) -> bytes:
    """A document that is still JSON, with one to four places taken out, changed, doubled or shuffled."""
    try:
        document = json.loads(data)
    except (ValueError, RecursionError):
        return spoil_bytes(data, rng)
    for _ in range(rng.choice([1, 1, 2, 4])):
        _spoil_place(document, rng)
    return json.dumps(document).encode("utf-8", "replace")


def _spoil_place(node: Any, rng: Random) -> None:
    """Walk down to some place in the document and spoil it."""
    while isinstance(node, dict | list) and node:
        key = rng.choice(list(node) if isinstance(node, dict) else range(len(node)))
        if isinstance(node[key], dict | list) and rng.random() < 0.85:
            node = node[key]
            continue
        how, other = rng.randrange(5), node[key]
        if how == 0:
            del node[key]
        elif how == 1 and isinstance(other, int | float) and not isinstance(other, bool):
            node[key] = other + rng.choice([1e-9, 1e-5, -1e-4, 0.01, 1, -90, 180])
        elif how == 2 and isinstance(node, list):
            node.insert(key, json.loads(json.dumps(rng.choice(node))))
        elif how == 3 and isinstance(node, list):
            rng.shuffle(node)
        else:
            node[key] = json.loads(json.dumps(rng.choice(ODD)))
        return


def spoil_array(array: Any, rng: Random) -> Any:
    """One array with odd values, of another kind, of another shape, or upside down."""
    how = rng.choice(["value", "value", "all", "kind", "turned", "none", "mirrored"])
    with np.errstate(all="ignore"):
        if how == "kind":
            try:
                return array.astype(rng.choice(KINDS))
            except (ValueError, TypeError):
                return array
        if how in ("value", "all") and array.size:
            array = array.copy()
            at = slice(None) if how == "all" else rng.randrange(array.size)
            odd = rng.choice(WORDS[:4] if array.dtype.kind == "U" else NUMBERS)
            try:
                array.reshape(-1)[at] = np.array(odd).astype(array.dtype)
            except (ValueError, TypeError):
                return array
            return array
    shapes = {"turned": array.reshape(array.shape[::-1]), "none": array[:0]}
    return shapes.get(how, np.ascontiguousarray(array[::-1]) if array.ndim else array)


def packed(arrays: dict[str, Any], about: dict[str, Any]) -> bytes:
    """The bytes of a recording with these arrays and words."""
    stream = io.BytesIO()
    words = np.frombuffer(json.dumps(about).encode(), dtype=np.uint8)
    np.savez(stream, about=words, **arrays)
    return stream.getvalue()


def unpacked(data: bytes) -> tuple[dict[str, Any], dict[str, Any]]:
    """The arrays and the words of a recording."""
    with np.load(io.BytesIO(data)) as loaded:
        arrays = {name: loaded[name] for name in loaded.files}
    return arrays, json.loads(arrays.pop("about").tobytes())


def spoil_recording(data: bytes, rng: Random) -> bytes:
    """A file that still unpacks, with an array or a word changed; now and then only bytes."""
    try:
        arrays, about = unpacked(data)
    except Exception:  # a file that was spoilt before
        return spoil_bytes(data, rng)
    for _ in range(rng.choice([1, 1, 2])):
        if rng.random() < 0.1 and isinstance(about.get("scenario"), str):
            about["scenario"] = spoil_json(
                about["scenario"].encode("utf-8", "replace"), rng
            ).decode("utf-8", "replace")
        elif rng.random() < 0.2:
            _spoil_place(about, rng)
        else:
            name = rng.choice(sorted(arrays))
            arrays[name] = spoil_array(arrays[name], rng)
    return spoil_bytes(data, rng) if rng.random() < 0.1 else packed(arrays, about)


def spoil_store(data: bytes, rng: Random) -> bytes:
    """A database with a race's outcome changed, or with bytes changed, in the pages' heads too."""
    if rng.random() < 0.3:
        return _spoil_outcome(data, rng)
    spoilt = bytearray(data)
    for _ in range(rng.choice([1, 3, 20]) if len(spoilt) > 4096 else 0):
        page = 4096 * rng.randrange(len(spoilt) // 4096) + rng.randrange(60)
        spoilt[rng.choice([rng.randrange(len(spoilt)), rng.randrange(200), page])] = rng.randrange(
            256
        )
    return bytes(spoilt if rng.random() < 0.8 else spoilt[: rng.randrange(len(spoilt) + 1)])


def _spoil_outcome(data: bytes, rng: Random) -> bytes:
    with TemporaryDirectory() as folder:
        file = Path(folder) / "store.sqlite"
        file.write_bytes(data)
        try:
            base = sqlite3.connect(file)
            query = "SELECT digest, seed, outcome FROM races LIMIT 1"
            digest, seed, row = base.execute(query).fetchone()
            # A stranger may seal what they like: what is behind a good seal is not believed either.
            again = sealed(digest, seed, spoil_bytes(row[SEAL_BYTES:], rng))
            outcome = rng.choice([again, again, spoil_bytes(row, rng), "text", 7, 1.5])
            base.execute("UPDATE races SET outcome = ?", (outcome,))
            base.commit()
            base.close()
        except Exception:  # a file that was spoilt before
            return spoil_bytes(data, rng)
        return file.read_bytes()
