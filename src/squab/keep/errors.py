# ruff: noqa: N818  an error is called by what is the case
"""The errors of the keep.

SquabError
└── KeepError   (also OSError)      the keep cannot do what was asked; says which, why, and a way out
    ├── KeepTooNew                  a newer Squab wrote this database
    ├── KeepDamaged                 the database is damaged, or is none
    ├── KeepFull                    the disk is full
    ├── KeepBusy                    another program holds the database
    ├── NotInKeep (also KeyError)   there is no such job, cloth, version or photo
    ├── Stale                       the text was changed elsewhere meanwhile; carries what is newer
    ├── NotArrived                  the cloth has not been checked in; carries what is not noted yet
    ├── AlreadyAgreed               a price was agreed before
    └── Unkeepable (also ValueError) something that cannot be kept: too large, no picture, no archive
"""

from __future__ import annotations

from squab.errors import SquabError
from squab.keep.records import JobRecord, Text


class KeepError(SquabError, OSError):
    """The keep cannot do what was asked. `reason` says why in words, `hint` a way out."""

    def __init__(self, reason: str, hint: str = "") -> None:
        self.reason = reason
        self.hint = hint
        super().__init__(f"{reason}\n  hint: {hint}" if hint else reason)

    def __str__(self) -> str:
        return f"{self.reason}\n  hint: {self.hint}" if self.hint else self.reason


class KeepTooNew(KeepError):
    """A newer Squab wrote this database."""


class KeepDamaged(KeepError):
    """The database is damaged, or is no database of Squab's."""


class KeepFull(KeepError):
    """The disk is full: nothing of this change was kept, everything before it was."""


class KeepBusy(KeepError):
    """Another program holds the database for longer than one waits."""


class NotInKeep(KeepError, KeyError):
    """There is no such job, cloth, version or photo."""


class Stale(KeepError):
    """A text was changed elsewhere since it was read. `newer` is what is kept now."""

    def __init__(self, newer: JobRecord | Text) -> None:
        self.newer = newer
        super().__init__(
            f"it was changed elsewhere meanwhile and is at version {newer.version} now",
            "look at what is newer, and make your change to that",
        )


class NotArrived(KeepError):
    """The cloth has not been checked in. `missing` gives, by cloth id, what is not noted yet."""

    def __init__(self, missing: dict[str, tuple[str, ...]]) -> None:
        self.missing = missing
        what = "; ".join(f"cloth {cloth}: {', '.join(names)}" for cloth, names in missing.items())
        super().__init__(
            f"nothing may be cut before its cloth is checked; not noted yet: {what}",
            "measure the cloth on the table and note its arrival",
        )


class AlreadyAgreed(KeepError):
    """A price was agreed before; it stays as it is unless one agrees anew."""


class Unkeepable(KeepError, ValueError):
    """Something that cannot be kept: too large, no picture, no archive."""
