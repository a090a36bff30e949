"""What does `--json` print? One frame for every command, for one file or many."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from simrun.answers.kind import Result
from simrun.base.version import VERSION

SCHEMA = 1


class Units(BaseModel):
    """In which units every figure stands, whatever the page speaks."""

    model_config = ConfigDict(extra="forbid")

    length: str = "m"
    time: str = "s"
    speed: str = "m/s"
    share: str = "of one"


class Answer(BaseModel):
    """What was found out about one file."""

    model_config = ConfigDict(extra="forbid")

    file: str = Field(description="the scenario or recording that was asked about; empty for none")
    subject: str = Field(description="the name of the race day")
    sentence: str = Field(description="the answer as a person reads it")
    figures: dict[str, Any] = Field(description="single values by name; null is not known")
    tables: dict[str, list[dict[str, Any]]] = Field(
        description="rows by table, the columns as in the CSV of the same name; null is not known"
    )
    engine: str = Field(
        description="which engine ran the races of a study, cpu or gpu; empty for what is no study"
    )
    left_out: str = Field(description="who is left out of the means, and why; empty for nobody")
    notes: list[str] = Field(description="what is to be said about the files")
    written: list[str] = Field(description="the files that were written")


class Frame(BaseModel):
    """Everything that one command says."""

    model_config = ConfigDict(extra="forbid")

    simrun: str = Field(description="the version that says this")
    schema_: int = Field(alias="schema", description="the version of this frame")
    command: str
    units: Units
    answers: list[Answer]


def frame_text(
    command: str, results: Sequence[tuple[Result, list[Path]]], ascii_only: bool = False
) -> str:
    """The answers of a command as one line of JSON; ascii_only: every other letter by its number."""
    answers = [_answer(result, files) for result, files in results]
    frame = {
        "simrun": VERSION,
        "schema": SCHEMA,
        "command": command,
        "units": Units().model_dump(),
        "answers": answers,
    }
    return json.dumps(frame, ensure_ascii=ascii_only, allow_nan=False)


def schema_text() -> str:
    """The schema as it is kept in shared/schema. Check: tests/journeys/test_json.py."""
    return json.dumps(Frame.model_json_schema(by_alias=True), indent=2) + "\n"


def _answer(result: Result, files: list[Path]) -> dict[str, Any]:
    return {
        "file": result.file,
        "subject": result.subject,
        "sentence": result.sentence,
        "figures": {name: plain(value) for name, value in result.figures.items()},
        "tables": {name: _records(table) for name, table in result.tables.items()},
        "engine": result.engine,
        "left_out": result.missing,
        "notes": list(result.notes),
        "written": [str(path) for path in files],
    }


def _records(table: Any) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(table.to_json(orient="records"))
    return found


def plain(value: Any) -> Any:
    """The same of plain numbers, texts, lists and tables; what is no number is null."""
    if isinstance(value, dict):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [plain(inner) for inner in value]
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return str(value) if isinstance(value, Path) else value
