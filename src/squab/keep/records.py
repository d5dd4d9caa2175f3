"""What the keep hands out: frozen records, none of them tied to the database."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal

State = Literal["asked", "quoted", "agreed", "ordered", "arrived", "cut", "sewn", "handed over"]
STATES: tuple[State, ...] = ("asked", "quoted", "agreed", "ordered", "arrived", "cut", "sewn", "handed over")
"""Where a job stands, in order."""

Sort = Literal["changed", "created", "promised", "title", "customer", "state"]
TickState = Literal["done", "spoiled"]
"""A piece is cut, or was cut wrong and must be cut again."""


def text_digest(text: str) -> str:
    """Digest a text: the same text, the same digest."""
    return hashlib.sha256(text.encode()).hexdigest()


@dataclass(frozen=True, kw_only=True)
class FlawNoted:
    """A flaw found on the bolt, as typed; measured as in the job file (left, right, from, to)."""

    left: str
    right: str
    from_: str
    to: str
    what: str = "flaw"


@dataclass(frozen=True, kw_only=True)
class Arrival:
    """What was noted of one cloth when it came. Lengths are texts as typed; an empty text is not noted yet.

    What a cloth has not (the repeat of a plain one, the pile of a flat one) is noted as "none".
    `flaws` is None while nobody has looked; an empty tuple says that there are none.
    """

    cloth: str
    width: str = ""
    repeat_across: str = ""
    repeat_along: str = ""
    stripe_at: str = ""
    print_at: str = ""
    measured_line: str = ""
    face: str = ""
    pile: str = ""
    flaws: tuple[FlawNoted, ...] | None = None
    lot: str = ""
    shade: str = ""
    length: str = ""
    bow: str = ""
    skew: str = ""
    lines_at: str = ""
    """Where the repeat creeps: the same line at one repeat after another, with commas; it stands for `repeat_along`
    and `print_at`."""
    unsure: tuple[str, ...] = ()
    """Names of what still counts as not noted: typed by half, or wanted of this cloth beside the other."""
    at: datetime | None = None

    @property
    def measured(self) -> dict[str, str]:
        """What was measured, by the job file's own keys, for `squab.desk.with_bolt`."""
        along = ("lines_at",) if self.by_lines else ("print_at", "repeat_along")
        names = ("width", "length", "lot", "stripe_at", "measured_line", "repeat_across", "bow", "skew", *along)
        return {name: getattr(self, name) for name in names}

    @property
    def by_lines(self) -> bool:
        """Tell whether the pattern along the cloth is measured line by line."""
        return self.lines_at.strip() not in ("", "none")

    @property
    def flaw_rows(self) -> list[dict[str, str]] | None:
        """The flaws by the job file's own keys; None while nobody has looked."""
        if self.flaws is None:
            return None
        return [{"left": f.left, "right": f.right, "from": f.from_, "to": f.to, "what": f.what} for f in self.flaws]

    @property
    def missing(self) -> tuple[str, ...]:
        """What must still be noted before anything may be cut."""
        noted = {
            "width": self._noted("width"),
            "repeat": self._noted("repeat_across", "repeat_along", "lines_at"),
            "where the pattern starts": self._noted("stripe_at", "print_at", "lines_at"),
            "face": self._noted("face"),
            "pile": self._noted("pile"),
            "flaws": self.flaws is not None and "flaws" not in self.unsure,
            "lot": self._noted("lot"),
            "shade": self._noted("shade"),
            "length": "length" not in self.unsure,
            "bow and skew": "bow" not in self.unsure and "skew" not in self.unsure,
        }
        return tuple(name for name, done in noted.items() if not done)

    def _noted(self, *names: str) -> bool:
        return any(getattr(self, n).strip() for n in names) and not any(n in self.unsure for n in names)


@dataclass(frozen=True, kw_only=True)
class Agreed:
    """What was agreed with the customer: figures as they were then, never worked out again.

    `figures` are texts by name (total, currency, deposit, cloth ...) and `version` the job's text they came from.
    """

    figures: Mapping[str, str]
    version: int
    at: datetime


@dataclass(frozen=True, kw_only=True)
class JobLine:
    """A job without its text: a line of the list.

    `digest` names the text. `cloths` are cloth ids and `cushions` how many cushions there are, all
    taken from the text when it was saved. `arrived` says whether every cloth has been checked in.
    """

    id: str
    title: str
    customer: str
    reference: str
    state: State
    promised: date | None
    created: datetime
    changed: datetime
    version: int
    digest: str
    cushions: int
    cloths: tuple[str, ...]
    arrived: bool
    agreed: Agreed | None
    hidden: bool


@dataclass(frozen=True, kw_only=True)
class JobRecord(JobLine):
    """A job: its text exactly as the command line takes it, and the little that is kept around it."""

    text: str
    arrival: tuple[Arrival, ...] = ()

    @property
    def missing(self) -> dict[str, tuple[str, ...]]:
        """By cloth id, what is not noted of its arrival yet."""
        return still_missing(self.cloths, self.arrival)


def still_missing(cloths: tuple[str, ...], arrival: tuple[Arrival, ...]) -> dict[str, tuple[str, ...]]:
    """By cloth id, what is not noted of its arrival yet; nothing where everything is."""
    noted = {a.cloth: a for a in arrival}
    missing = {c: (noted.get(c) or Arrival(cloth=c)).missing for c in cloths or ("cloth",)}
    return {c: names for c, names in missing.items() if names}


@dataclass(frozen=True, kw_only=True)
class JobVersion:
    """One version in the history of a job, a cloth or the house numbers.

    `began` and `at` differ where quick edits were folded into one.

    `why` says what made it: "saved", "begun", "restored from 3", "brought in" ...
    """

    version: int
    began: datetime
    at: datetime
    why: str


@dataclass(frozen=True, kw_only=True)
class Text:
    """A text with its version: house numbers, a cloth of the shelf."""

    text: str
    version: int


@dataclass(frozen=True, kw_only=True)
class HouseNumbers(Text):
    """The workroom's usual numbers: TOML of [job], [cover] and [prices], the defaults of every new job."""


@dataclass(frozen=True, kw_only=True)
class ClothRecord(Text):
    """A cloth of the shelf: the TOML of one [[cloth]], under a [job] that says which unit its numbers are in."""

    id: str
    name: str
    created: datetime
    changed: datetime
    hidden: bool = False


@dataclass(frozen=True, kw_only=True)
class Left:
    """What is left of a bolt, as typed: every length a text with its unit, an empty one not known.

    `cloth` is the TOML of one [[cloth]], as on the shelf. `stripe_at` and `print_at` say where the pattern
    starts, measured on the remnant as on a bolt: from its left edge and from its cut end.
    """

    name: str
    cloth: str
    across: str
    along: str
    lot: str = ""
    stripe_at: str = ""
    print_at: str = ""
    place: str = ""
    note: str = ""
    job_id: str = ""
    job_title: str = ""

    @property
    def bolt(self) -> dict[str, str]:
        """Its size and pattern by the job file's own keys, for `squab.desk.with_bolt`."""
        return {"width": self.across, "length": self.along, "lot": self.lot, "stripe_at": self.stripe_at,
                "print_at": self.print_at}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Remnant(Left):
    """What is left of a bolt, as it is kept."""

    id: str
    at: datetime
    version: int = 1
    used: bool = False


@dataclass(frozen=True, kw_only=True)
class Telephone:
    """A telephone that may come in from the network. `digest` is that of what it carries."""

    id: str
    name: str
    digest: str
    let_in: datetime


@dataclass(frozen=True, kw_only=True)
class Tick:
    """A piece ticked at the cutting table. `piece` is its key in the lay."""

    job_id: str
    piece: str
    state: TickState
    at: datetime
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Photo:
    """A photograph in a job; `Keep.photo` gives its bytes."""

    id: str
    job_id: str
    name: str
    media_type: str
    size: int
    at: datetime
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class BroughtIn:
    """What an archive held and what became of it. Titles, and names for cloths; nothing was overwritten."""

    added: tuple[str, ...] = ()
    same: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()
    """Already here, but different: put in beside what is here."""
    refused: tuple[str, ...] = field(default=())
    """Each with its reason."""
