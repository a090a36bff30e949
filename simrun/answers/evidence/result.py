"""What was found out about the model: every check with its verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.evidence.check_kinds import Check
from simrun.answers.evidence.experiments.audit import Section, audit_table
from simrun.answers.evidence.experiments.sensitivity import Sensitivity
from simrun.answers.evidence.page import page_of
from simrun.answers.evidence.sections import (
    SECTIONS,
    Shown,
    audit_section,
    section_of,
    varied_section,
)
from simrun.answers.evidence.words import SUBJECT, sentence_of, text_of
from simrun.answers.kind import Progress, Result
from simrun.base.csv import write_csv
from simrun.pages.frame import write_page

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class EvidenceResult(Result):
    """What every experiment gave, by its name. varied: the sensitivity, None where it was left out."""

    found: Mapping[str, Any]
    varied: Sensitivity | None
    quick: bool
    folder: Path
    units: str
    audit: tuple[Section, ...] = ()

    @property
    def subject(self) -> str:
        """The model itself."""
        return SUBJECT

    @property
    def file(self) -> str:
        """Nothing was read."""
        return ""

    @cached_property
    def sections(self) -> tuple[Shown, ...]:
        """The parts of the page, with their rows and pictures."""
        return tuple(section_of(each, self.found) for each in SECTIONS)

    @property
    def checks(self) -> tuple[Check, ...]:
        """Every row of every section, in the order of the page."""
        return tuple(row for section in self.sections for row in section.rows)

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """evidence: a row a check (an endless band is empty); audit: a row a section of the courses."""
        import pandas as pd

        rows = [
            {"question": section.title, **asdict(row), "met": row.met}
            for section in self.sections
            for row in section.rows
        ]
        checks = pd.DataFrame(rows).replace([float("inf"), float("-inf")], float("nan"))
        return {"evidence": checks, **({"audit": audit_table(self.audit)} if self.audit else {})}

    @property
    def sentence(self) -> str:
        """How many figures are met, and how many are missed."""
        return sentence_of(self.checks)

    @property
    def text(self) -> str:
        """The sentence, and what is missed with its causes."""
        return text_of(self.checks)

    @property
    def figures(self) -> Mapping[str, Any]:
        """How many checks, how many met, and whether the page is the quick one."""
        met = sum(row.met for row in self.checks)
        return {"checks": len(self.checks), "met": met, "quick": self.quick}

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """evidence.html, and audit.csv where the queues were audited."""
        where = Path(folder) if folder else self.folder
        audit = (audit_section(self.audit),) if self.audit else ()
        page = page_of((*self.sections, *audit, varied_section(self.varied)), self.quick)
        written = [write_page(page, where / "evidence.html")]
        if self.audit:
            written.append(write_csv(self.tables["audit"], where / "audit.csv"))
        return written
