"""What the interface for programs takes and gives. Money is text with its decimals; lengths end in `_mm`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from squab.desk import VariantFigures
from squab.findings import Finding
from squab.keep import Agreed, ClothRecord, HouseNumbers, JobLine, JobRecord, JobVersion, State
from squab.web.searching import Search
from squab.worked import WorkedJob

Text = Annotated[str, Field(max_length=8_000_000, description="TOML, exactly as the command line takes it.")]
Version = Annotated[int, Field(ge=0, description="The version it was changed from: if another is kept by now, 409.")]


class Form(BaseModel):
    """Anything the interface takes or gives; unknown fields are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class ProblemTold(Form):
    """What could not be done: in a few words, why, and a way out."""

    title: str
    reason: str
    hint: str


class Newer(Form):
    """What is kept now, where it was changed meanwhile."""

    version: int
    text: str


class ProblemForm(Form):
    """Every refusal looks so."""

    problem: ProblemTold
    newer: Newer | None = None


class FindingForm(Form):
    """Something that was found in a job."""

    code: str
    severity: Literal["stop", "warn", "note"]
    place: str
    message: str
    hint: str
    line: int | None
    path: Annotated[str, Field(description="The key it is about, such as cushion[0].front.")]


def findings_form(findings: Iterable[Finding]) -> list[FindingForm]:
    """Findings as they are given out."""
    return [
        FindingForm(
            code=f.code, severity=_SEVERITY[f.severity.name], place=f.place, message=f.message, hint=f.hint,
            line=f.line, path=f.path,
        )
        for f in findings
    ]  # fmt: skip


_SEVERITY: dict[str, Literal["stop", "warn", "note"]] = {"STOP": "stop", "WARN": "warn", "NOTE": "note"}


class AgreedForm(Form):
    """Figures agreed with the customer; never worked out again."""

    figures: dict[str, str]
    version: int
    at: datetime

    @classmethod
    def of(cls, agreed: Agreed | None) -> AgreedForm | None:
        """As it is given out."""
        return None if agreed is None else cls(figures=dict(agreed.figures), version=agreed.version, at=agreed.at)


class JobLineForm(Form):
    """A job as a list shows it."""

    id: str
    title: str
    customer: str
    reference: str
    state: State
    promised: date | None
    created: datetime
    changed: datetime
    version: int
    cushions: int
    cloths: list[str]
    arrived: bool
    hidden: bool
    agreed: AgreedForm | None

    @classmethod
    def line(cls, job: JobLine) -> JobLineForm:
        """As it is given out."""
        return JobLineForm(**_line(job))


def _line(job: JobLine) -> dict[str, Any]:
    names = set(JobLineForm.model_fields) - {"cloths", "agreed"}
    return {n: getattr(job, n) for n in names} | {"cloths": list(job.cloths), "agreed": AgreedForm.of(job.agreed)}


class JobForm(JobLineForm):
    """A job with its text, what was found in it, and what is not noted of its cloth's arrival."""

    text: str
    findings: list[FindingForm]
    not_noted: dict[str, list[str]]

    @classmethod
    def of(cls, job: JobRecord, findings: Iterable[Finding]) -> JobForm:
        """As it is given out."""
        missing = {k: list(v) for k, v in job.missing.items()}
        return cls(**_line(job), text=job.text, findings=findings_form(findings), not_noted=missing)


class NewJob(Form):
    """A job to be kept."""

    text: Text
    title: Annotated[str, Field(max_length=200, description="Its name where its text has none.")] = ""


class NewText(Form):
    """A text to be kept in place of another."""

    text: Text
    version: Version


class Edit(Form):
    """One key set to what was typed; an empty text takes it out."""

    path: Annotated[str, Field(max_length=300, examples=["cushion[0].front"])]
    typed: Annotated[str, Field(max_length=20_000, examples=["24 3/4"])]


class Edits(Form):
    """Keys to be set, one after another, all or none."""

    version: Version
    edits: Annotated[list[Edit], Field(min_length=1, max_length=500)]


class Standing(Form):
    """Where a job stands."""

    state: State


class Promise(Form):
    """The day a job is promised for."""

    promised: date | None


class Hide(Form):
    """Whether something is out of sight; it is kept either way."""

    hidden: bool


class Agree(Form):
    """A total that the customer agrees to: it must be what the job comes to now."""

    total: Decimal
    anew: Annotated[bool, Field(description="Replace figures that were agreed before.")] = False


class VersionForm(Form):
    """One version in a history."""

    version: int
    began: datetime
    at: datetime
    why: str


def versions_form(versions: Sequence[JobVersion]) -> list[VersionForm]:
    """A history as it is given out."""
    return [VersionForm(version=v.version, began=v.began, at=v.at, why=v.why) for v in versions]


class ChangeForm(Form):
    """A key that differs between two texts, as typed."""

    path: str
    before: str
    after: str


class OldText(Form):
    """A text as it was, and what is different now."""

    version: int
    text: str
    different_now: list[ChangeForm]


class ClothToBuy(Form):
    """One cloth of a job."""

    id: str
    name: str
    order_mm: float
    lay_mm: float
    no_less_than_mm: Annotated[float, Field(description="No lay of these pieces can use less: the proof.")]
    by_rows_mm: Annotated[float, Field(description="What the handbook's rows take.")]


class FiguresForm(Form):
    """What a job comes to."""

    cloths: list[ClothToBuy]
    hours: Decimal | None
    net: Decimal | None
    tax: Decimal | None
    total: Decimal | None
    deposit: Decimal | None
    currency: str
    seams_seen: int
    seams_meet: int
    worst_mm: Annotated[float, Field(description="The largest drift at a seam that is seen and shall meet.")]
    shows: list[str]

    @classmethod
    def of(cls, told: VariantFigures, worked: WorkedJob) -> FiguresForm:
        """As they are given out."""
        price = worked.supply.price
        cloths = [
            ClothToBuy(
                id=k, name=worked.job.cloth(k).name, order_mm=p.order_mm, lay_mm=p.lay.length_mm,
                no_less_than_mm=p.bound.length_mm, by_rows_mm=p.handbook_mm,
            )
            for k, p in worked.plans.items()
        ]  # fmt: skip
        return cls(
            cloths=cloths, hours=price.hours, net=price.net, tax=price.tax, total=price.total, deposit=price.deposit,
            currency=price.currency, seams_seen=told.seams_seen, seams_meet=told.seams_meet, worst_mm=told.worst_mm,
            shows=list(told.shows),
        )  # fmt: skip


class SearchForm(Form):
    """A search for a lay, running or done."""

    running: bool
    stopped: bool
    stage: str
    length_mm: Annotated[float, Field(description="The shortest so far.")]
    elapsed_s: float
    seconds: float
    fault: str

    @classmethod
    def of(cls, search: Search | None) -> SearchForm | None:
        """As it is given out."""
        if search is None:
            return None
        return cls(
            running=search.running, stopped=search.stopped, stage=search.stage, length_mm=search.length_mm,
            elapsed_s=round(search.elapsed_s, 3), seconds=search.seconds, fault=search.fault,
        )  # fmt: skip


class LayForm(Form):
    """How far the lay of a job is, and what the job comes to once it is laid."""

    version: int
    search: SearchForm | None
    figures: FiguresForm | None
    findings: list[FindingForm]


class Look(Form):
    """How long to look for a lay."""

    seconds: Annotated[float, Field(gt=0, le=3600)] = 10.0


class VariantForm(Form):
    """A way to make a job otherwise: what is typed at some keys instead."""

    name: Annotated[str, Field(max_length=200)]
    edits: Annotated[list[Edit], Field(max_length=50)] = []


class Compare(Form):
    """Ways to be compared. Ask again until none is running: what was laid is kept."""

    variants: Annotated[list[VariantForm], Field(min_length=1, max_length=8)]
    seconds: Annotated[float, Field(gt=0, le=600)] = 4.0


class ComparedForm(Form):
    """One way, as far as it is laid."""

    name: str
    text: str
    search: SearchForm | None
    figures: FiguresForm | None
    findings: list[FindingForm]


class SheetForm(Form):
    """One sheet and where to get it."""

    name: str
    title: str
    about: str
    address: str


class TickForm(Form):
    """A piece that was ticked at the cutting table."""

    piece: str
    state: Literal["done", "spoiled"]
    at: datetime
    note: str


class TextForm(Form):
    """A text by itself, to be looked through."""

    text: Text


class CheckedForm(Form):
    """What was found in a text."""

    sound: Annotated[bool, Field(description="Whether nothing stands in the way.")]
    findings: list[FindingForm]


class Asked(Form):
    """What one knows on the telephone, as typed."""

    width: str
    depth: str
    thickness: str
    unit: Literal["mm", "in"] = "mm"
    size_is: Literal["seat", "fill", "old cover", "finished", "seam"] = "seat"
    count: str = "1"
    piping: Literal["both", "none"] = "both"
    cloth_width: str = ""
    pattern: Literal["", "stripe", "bands", "print", "half"] = ""
    repeat_across: str = ""
    repeat_along: str = ""
    one_way: bool = False
    cloth_price: str = ""


class EstimateForm(Form):
    """About how much cloth and what price, and why."""

    cloth_least_mm: float
    cloth_most_mm: float
    price_least: Decimal
    price_most: Decimal
    currency: str
    minutes_per_cushion: float
    without_cloth_price: bool
    reasons: list[str]
    findings: list[FindingForm]


class HouseForm(Form):
    """The house numbers: [job], [cover] and [prices] of a job file."""

    text: str
    version: int
    findings: list[FindingForm]

    @classmethod
    def of(cls, house: HouseNumbers, findings: Iterable[Finding]) -> HouseForm:
        """As they are given out."""
        return cls(text=house.text, version=house.version, findings=findings_form(findings))


class ClothForm(Form):
    """A cloth of the shelf: one [[cloth]] of a job file, under a [job] that says its unit."""

    id: str
    name: str
    text: str
    version: int
    created: datetime
    changed: datetime
    hidden: bool
    findings: list[FindingForm]

    @classmethod
    def of(cls, cloth: ClothRecord, findings: Iterable[Finding]) -> ClothForm:
        """As it is given out."""
        return cls(
            id=cloth.id, name=cloth.name, text=cloth.text, version=cloth.version, created=cloth.created,
            changed=cloth.changed, hidden=cloth.hidden, findings=findings_form(findings),
        )  # fmt: skip


class NewCloth(Form):
    """A cloth for the shelf."""

    text: Text


class BroughtInForm(Form):
    """What an archive held and what became of it."""

    added: list[str]
    same: list[str]
    beside: list[str]
    refused: list[str]
