"""What a stage found wrong, or worth saying, about a job.

A stage never stops at the first fault. It hands back an `Outcome`: its value (or None when
there is none to give) together with every finding.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum
from typing import Generic, TypeVar

T = TypeVar("T", covariant=True)


class Severity(IntEnum):
    """How much a finding matters: a `STOP` is refused, a `WARN` read, a `NOTE` good to know."""

    NOTE = 1
    WARN = 2
    STOP = 3


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found in a job.

    `code` is permanent (`CON-014`); `place` names the thing in the maker's words (`seat: top
    panel`); `message` says what was found and what was allowed, with units; `hint` is a way
    out; `line` is the line of the job file, where there is one, and `path` the key it is about
    (`cushion[0].front`).
    """

    code: str
    severity: Severity
    place: str
    message: str
    hint: str = ""
    line: int | None = None
    path: str = ""

    def text(self) -> str:
        """Lay the finding out as two or three plain lines."""
        where = f", line {self.line}" if self.line is not None else ""
        head = f"{self.severity.name.lower()} {self.code} {self.place}{where}: {self.message}"
        return f"{head}\n  hint: {self.hint}" if self.hint else head


@dataclass(frozen=True, slots=True)
class Outcome(Generic[T]):
    """A stage's value together with what it found. `value` is None when it could give none."""

    value: T | None
    findings: tuple[Finding, ...] = ()

    @property
    def stops(self) -> bool:
        """Tell whether any finding forbids going on."""
        return any(f.severity is Severity.STOP for f in self.findings)


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Order findings by severity, then by line of the job file, each once."""
    once = dict.fromkeys(findings)
    return tuple(sorted(once, key=lambda f: (-f.severity, f.line or 0, f.code)))
