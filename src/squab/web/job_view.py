"""What the page of one job shows, made ready for its templates: no pages, no store, no arithmetic."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Future
from dataclasses import dataclass, replace
from functools import cached_property
from math import floor
from typing import Any, cast
from zlib import crc32

from markupsafe import Markup

from squab.construct.records import CushionCover
from squab.desk import Opened, unit_of
from squab.draw.figures import Figures
from squab.draw.foam import foam_sheets_svg, sheet_said, ways_said
from squab.draw.picture import cushion_picture_svg
from squab.draw.plan import cutting_plan_svg
from squab.draw.sheets_common import OnBolt, on_bolt
from squab.draw.sheets_names import COSTING, PATTERNS, PLOTTER, QUOTE, SHOPPING, sheet_titles
from squab.files.cloths import find_line
from squab.files.lines import place_of
from squab.findings import Finding, Severity
from squab.job import AIMS, Aim, Cushion, Job
from squab.keep import STATES, JobRecord, Remnant
from squab.lay.records import ClothPlan, Improved
from squab.match.records import Cure
from squab.reasons import Told
from squab.rough import Estimate, estimate_from
from squab.stages import Prepared
from squab.units import IMPERIAL, METRIC, MM_PER_INCH
from squab.web import fields as f
from squab.web.cloth_fields import ClothFields
from squab.web.gist import OPEN_AT_FIRST, PARTS, gist_of, part_of, stops_by_part
from squab.web.labels import CHOICES
from squab.web.leavings import in_hand
from squab.web.searching import Search
from squab.web.sheets import price_of
from squab.web.spoken import WANTED, spoken
from squab.web.works import Reading, outcome_of, prepared_alone, sketched
from squab.words import Shore
from squab.worked import WorkedJob

MOST_OTHERS = 3
"""Cloths offered in place of one that is too short."""
MOST_WANTED = 4
"""Fields named that are wanted still; beyond them there is a rest."""
MOST_LISTED = 40
"""Cushions named one by one; beyond them one looks for a cushion by its number."""

_AIMS: Mapping[Aim, str] = {
    "large remnant": "One large remnant",
    "straight cuts": "Few, straight cuts",
    "cushions together": "Each cushion's pieces together",
}
NAMES_OF_REMNANT = {"stripe_at": "stripe at", "print_at": "print at", "measured_line": "measured to"}


@dataclass(frozen=True)
class JobView(ClothFields):
    """One job as its page shows it: one of its cushions and one of its cloths open."""

    record: JobRecord
    reading: Reading
    worked: WorkedJob | None = None
    cushion: int = 0
    cloth: int = 0
    search: Search | None = None
    why: Future[Told | None] | None = None
    """What holds the lay and what would save most, once that was asked for."""
    asked_paper: str = ""
    folds: str = ""
    """What was folded and opened by hand, as the browser keeps it."""
    in_hand: Callable[[], Sequence[Remnant]] = tuple
    """Asks for the remnants on the shelf."""

    # --- the job ---

    @property
    def opened(self) -> Opened:
        """The job's text, read."""
        return self.reading.opened

    @property
    def id(self) -> str:
        """The job's id."""
        return self.record.id

    @property
    def home(self) -> str:
        """The address under which its fields are set."""
        return f"/jobs/{self.id}"

    @property
    def job(self) -> Job | None:
        """The job, where it can be read."""
        return self.reading.job

    @cached_property
    def words(self) -> Shore:
        """Whose words the page speaks."""
        if self.job is not None:
            return self.job.words
        typed = self.reading.opened.typed
        said = typed.get("job.words", "us" if typed.get("job.units") == "in" else "uk")
        return "us" if said == "us" else "uk"

    @cached_property
    def unit(self) -> str:
        """The unit of bare numbers."""
        unit = self.reading.opened.typed.get("job.units", "mm")
        return unit if unit in ("mm", "cm", "m", "in") else "mm"

    @cached_property
    def figures(self) -> Figures:
        """Prints figures as the sheets do."""
        if self.job is not None:
            return Figures.of(self.job)
        style = IMPERIAL if self.unit == "in" else METRIC
        return Figures(replace(style, fractions_set=True), self.words, "GBP")

    @cached_property
    def form(self) -> f.Form:
        """Makes the fields."""
        return f.Form(self.reading.opened, self.words)

    def said(self, text: str) -> str:
        """A text in the job's own words."""
        return self.figures.said(text)

    @property
    def paper(self) -> str:
        """The paper of the sheets."""
        own = self.job.paper if self.job is not None else "a4"
        return self.asked_paper if self.asked_paper in ("a4", "letter") else own

    @property
    def states(self) -> Sequence[str]:
        """Where a job may stand."""
        return STATES

    # --- the parts of the page ---

    def is_open(self, name: str, at_first: bool | None = None) -> bool:
        """Whether a part of the page is shown open: as it was left, else where it is needed first."""
        if name in self._left:
            return self._left[name]
        return name in OPEN_AT_FIRST or self.stops_in(name) > 0 if at_first is None else at_first

    @cached_property
    def _left(self) -> dict[str, bool]:
        return {x.removeprefix("-"): not x.startswith("-") for x in self.folds.split(".") if x}

    def gist(self, name: str) -> str:
        """What a part of the page comes to, in one line."""
        return gist_of(self, name)

    def stops_in(self, name: str) -> int:
        """How many things stand in the way that are mended in a part of the page."""
        return self._stops_by_part.get(name, 0)

    def wants_in(self, name: str) -> int:
        """How many of them are only not given yet."""
        return sum(part_of(x.path) == name for x in self.wanted if x.path)

    @cached_property
    def wanted(self) -> tuple[Finding, ...]:
        """What is needed and not given yet."""
        found = (x for x in self.all_findings if x.code == WANTED and x.severity is Severity.STOP)
        return tuple(sorted(found, key=lambda x: x.path.endswith(".thickness")))  # as one says it: the plan first

    @property
    def wanted_said(self) -> str:
        """The same by the names of their fields, as one says it."""
        names = [spoken(x, self.words).message.removesuffix(" is needed") for x in self.wanted[:MOST_WANTED]]
        said = list(dict.fromkeys(n[:1].lower() + n[1:] for n in names))
        more = ["the rest"] if len(self.wanted) > MOST_WANTED else []
        return " and ".join(x for x in (", ".join([*said, *more][:-1]), [*said, *more][-1]) if x)

    @property
    def to_mend(self) -> int:
        """How many things stand in the way that were given, and wrongly."""
        return self.count("STOP") - len(self.wanted)

    def about(self, finding: Finding) -> str:
        """What a finding is about, by the name that the page has for it."""
        place = place_of(finding.path) if finding.path else ()
        if len(place) > 1 and place[0] in ("cushion", "cloth") and isinstance(place[1], int):
            here = f"{place[0]}[{place[1]}]"
            name, known_as = self._typed(f"{here}.name"), f"{place[0]} {self._typed(f'{here}.id')}"
            if name and (finding.place == known_as or finding.place.startswith((f"{known_as}:", f"{known_as},"))):
                return name + finding.place.removeprefix(known_as)
        return finding.place

    @cached_property
    def _stops_by_part(self) -> dict[str, int]:
        return stops_by_part(self)

    @property
    def parts_of_page(self) -> Sequence[str]:
        """The parts of the page, in the order of the work."""
        return PARTS

    # --- cushions ---

    @cached_property
    def cushion_count(self) -> int:
        """How many kinds of cushion there are."""
        return self.reading.opened.count("cushion")

    @cached_property
    def cushion_names(self) -> list[tuple[int, str, str, str]]:
        """Index, name, how many, and the worst that was found, of the cushions near the one that is open."""
        first = max(0, min(self.cushion - MOST_LISTED // 2, self.cushion_count - MOST_LISTED))
        shown = range(first, min(self.cushion_count, first + MOST_LISTED))
        return [(i, self.cushion_name(i), self._typed(f"cushion[{i}].count") or "1", self._worst(i)) for i in shown]

    def cushion_name(self, index: int) -> str:
        """What a cushion is called."""
        own = self._typed(f"cushion[{index}].name") or self._typed(f"cushion[{index}].id")
        return own or f"Cushion {index + 1}"

    def _worst(self, index: int) -> str:
        found = self._worst_by_cushion.get(index)
        return "" if found is None else found.name.lower()

    @cached_property
    def _worst_by_cushion(self) -> dict[int, Severity]:
        worst: dict[int, Severity] = {}
        for path, found in self.reading.opened.by_path.items():
            if path.startswith("cushion["):
                index = int(path[8 : path.index("]")])
                worst[index] = max([worst.get(index, Severity.NOTE), *(x.severity for x in found)])
        return worst

    @property
    def here(self) -> str:
        """Key path of the open cushion."""
        return f"cushion[{self.cushion}]"

    @cached_property
    def made(self) -> Cushion | None:
        """The open cushion, where the job can be read."""
        if self.job is None or self.cushion >= len(self.job.cushions):
            return None
        return self.job.cushions[self.cushion]

    @cached_property
    def prepared(self) -> Prepared | None:
        """The fast stages' values: of the whole job, or of the open cushion alone where there are very many."""
        if self.reading.large:
            return prepared_alone(self.reading.text, self.cushion)
        return self.reading.prepared

    @cached_property
    def cover(self) -> CushionCover | None:
        """The open cushion's cover, where it can be made."""
        prepared = self.prepared
        if self.made is None or prepared is None:
            return None
        return next((c for c in prepared.construction.covers if c.cushion_id == self.made.id), None)

    @cached_property
    def shape(self) -> str:
        """The open cushion's shape."""
        typed = self._typed(f"{self.here}.shape")
        if typed in f.SHAPE_WORDS:
            return typed
        opened = self.reading.opened
        if opened.count(f"{self.here}.run"):
            return "run"
        if self._typed(f"{self.here}.diameter"):
            return "disc"
        return "trapezoid" if self._typed(f"{self.here}.front") and self._typed(f"{self.here}.back") else "rectangle"

    @property
    def shapes(self) -> Mapping[str, str]:
        """Every shape with its words."""
        return f.SHAPE_WORDS

    @cached_property
    def sizes(self) -> list[f.Field]:
        """The fields of the open cushion's size."""
        names = f.size_names(self.shape)
        made = [self.form.field(f"{self.here}.{n}", reshapes=n == "hand") for n in names]
        return [*made, self.form.field(f"{self.here}.thickness", hint="")]

    @cached_property
    def size_is(self) -> f.Field:
        """What the numbers measure."""
        usual = self._typed("job.size_is")
        words = CHOICES.get(usual, usual)
        return self.form.field(
            f"{self.here}.size_is", usual=f"as the job: {words}" if usual else "the bare fill", hint=""
        )

    @cached_property
    def radii(self) -> list[f.Field]:
        """The fields of the corners."""
        if not f.takes_radius(self.shape):
            return []
        each = self.shape in ("rectangle", "trapezoid")
        names = ("all", "front_left", "front_right", "back_left", "back_right") if each else ("all",)
        return [
            self.form.field(f"{self.here}.radius.{n}", usual="square" if n == "all" else "as all", hint="")
            for n in names
        ]

    @cached_property
    def run(self) -> list[list[f.Field]]:
        """The fields of each side of a run."""
        count = self.reading.opened.count(f"{self.here}.run")
        return [self._side(f"{self.here}.run[{i}]") for i in range(min(count, 60))]

    def _side(self, here: str) -> list[f.Field]:
        """The fields of one side: by its length and turn, or by the point where it ends."""
        drawn = f"{here}.to" in self.reading.opened.typed
        names = ("side", "to", "corner", "rise") if drawn else ("side", "length", "turn", "corner", "rise")
        return [self.form.field(f"{here}.{n}", label="To the point x, y" if n == "to" else "", hint="") for n in names]

    @cached_property
    def sides(self) -> list[str]:
        """The open cushion's sides, as far as they are known."""
        if self.made is not None:
            return list(self.made.outline.side_names())
        if self.shape == "run":
            count = self.reading.opened.count(f"{self.here}.run")
            named = [self._typed(f"{self.here}.run[{i}].side") for i in range(min(count, 60))]
            return list(dict.fromkeys(n for n in named if n))
        if self.shape in ("disc", "D"):
            return ["front", "back"]
        return ["front", "right", "back", "left"]

    def sides_in(self, name: str) -> set[str]:
        """The sides that a list of names holds; what it is taken to hold where it says nothing."""
        typed = self._typed(f"{self.here}.{name}")
        if not typed:
            return {"back"} & set(self.sides) if name == "hidden" else set()
        return {part.strip() for part in typed.split(",")}

    @property
    def is_seat(self) -> bool:
        """Whether the numbers are those of the seat it goes in."""
        return (self._typed(f"{self.here}.size_is") or self._typed("job.size_is")) == "seat"

    @cached_property
    def clearances(self) -> list[f.Field]:
        """What is taken off each side of a seat."""
        if not self.is_seat:
            return []
        usual = {"left", "right"} if self.shape != "disc" else set(self.sides)
        return [
            self.form.field(_in(f"{self.here}.clearance", side), label=f"At the {side}", hint="", kind="length",
                            usual=("1/4 in" if self.unit == "in" else "6 mm") if side in usual else "0")
            for side in self.sides
        ]  # fmt: skip

    @cached_property
    def fill(self) -> list[f.Field]:
        """What goes inside."""
        names = ("fill.kind", "fill.wrap", "fill.density", "fill.bare_thickness", "fill.quick_drying", "fill.keep_dry")
        return [
            self.form.field(f"{self.here}.{n}", hint="" if n in ("fill.kind", "fill.wrap") else None) for n in names
        ]

    @cached_property
    def size_table(self) -> list[tuple[str, str]]:
        """The open cushion's sizes side by side."""
        if self.cover is None:
            return []
        sizes = self.cover.sizes
        rows = [("Seat", sizes.seat), ("Fill", sizes.fill), ("Stitch line", sizes.seam), ("Finished", sizes.finished)]
        return [(name, self.figures.box(size)) for name, size in rows if size is not None]

    @property
    def drawing(self) -> Markup:
        """The open cushion in its cloth, to stand in the page: everything in it that was typed is escaped."""
        if self.made is None or self.prepared is None:
            return Markup("")
        return Markup(cushion_picture_svg(self.worked or sketched(self.prepared), self.made.id))

    # --- the make of cover ---

    @cached_property
    def make(self) -> list[f.Field]:
        """The make of cover: what is asked of every job."""
        return [self._cover(name, "cover") for name in f.MAKE_FIRST]

    @cached_property
    def make_more(self) -> list[tuple[str, list[f.Field]]]:
        """The make of cover: what a workroom sets once."""
        return [(self.said(title), [self._cover(n, "cover") for n in names]) for title, names in f.MAKE_MORE]

    @cached_property
    def make_own(self) -> list[f.Field]:
        """How the open cushion is made otherwise."""
        return [self._sided(x) for x in self.form.inherited(self.cushion, f.MAKE)]

    @property
    def own_count(self) -> int:
        """How many keys of its make the open cushion gives for itself."""
        return sum(bool(self._typed(f"{self.here}.{name}")) for name in f.MAKE)

    def _cover(self, name: str, under: str) -> f.Field:
        return self._sided(self.form.field(f"{under}.{name}"))

    def _sided(self, field: f.Field) -> f.Field:
        if field.path.endswith("zip.side"):
            return replace(field, kind="choice", choices=tuple((s, s) for s in self.sides), hint="")
        return field

    # --- cloth and match ---

    @cached_property
    def cloth_names(self) -> list[tuple[int, str]]:
        """Index and name of every cloth."""
        count = min(self.reading.opened.count("cloth"), MOST_LISTED)
        return [
            (i, self._typed(f"cloth[{i}].name") or self._typed(f"cloth[{i}].id") or f"Cloth {i + 1}")
            for i in range(count)
        ]

    @cached_property
    def bolt(self) -> list[f.Field]:
        """The bolt on the table."""
        names = [
            "length",
            "lot",
            "stripe_at",
            "print_at",
            "measured_line",
            "repeat_across",
            "repeat_along",
            "lines_at",
            "bow",
            "skew",
        ]
        return self.form.fields(f"{self.cloth_here}.bolt", names)

    @cached_property
    def flaws(self) -> list[list[f.Field]]:
        """The flaws of the bolt on the table."""
        here = f"{self.cloth_here}.bolt.flaws"
        count = min(self.reading.opened.count(here), 60)
        names = ("left", "right", "from", "to", "what")
        return [[self.form.field(f"{here}[{i}].{n}", hint="") for n in names] for i in range(count)]

    @cached_property
    def _remnant_rows(self) -> list[Mapping[str, object]]:
        rows = self.opened.raw.get("cloth", ())
        row = rows[self.cloth] if isinstance(rows, list) and self.cloth < len(rows) else {}
        found = row.get("remnants", ()) if isinstance(row, Mapping) else ()
        return [r for r in found if isinstance(r, Mapping)] if isinstance(found, list) else []

    @property
    def remnants(self) -> list[str]:
        """The remnants of the open cloth that the job counts on, in words."""
        rows = self._remnant_rows[:MOST_LISTED]
        return [", ".join(f"{NAMES_OF_REMNANT.get(k, k)} {v}" for k, v in row.items()) for row in rows]

    @cached_property
    def remnants_in_hand(self) -> list[Remnant]:
        """Unused remnants on the shelf of the open cloth, as far as the job does not count on them."""
        if self.job is None or self.cloth >= len(self.job.cloths):
            return []
        cloth, unit = self.job.cloths[self.cloth], unit_of(self.opened.text)
        return in_hand(cloth, self.in_hand(), self._remnant_rows, unit)[:MOST_LISTED]

    @cached_property
    def parts(self) -> list[f.Field]:
        """Which part is made of which cloth."""
        count = min(self.reading.opened.count("cloth"), 200)
        ids = [(self._typed(f"cloth[{i}].id"), self._typed(f"cloth[{i}].name")) for i in range(count)]
        choices = [(i, name or i) for i, name in ids if i]
        usual = {"panel_cloth": choices[0][1] if choices else "the first"}
        return [
            self.form.field(f"cover.{n}", usual=usual.get(n, "as the top"), hint="", choices=choices)
            for n in f.CLOTHS_OF_PARTS
        ]

    @property
    def patterned(self) -> bool:
        """Whether any cloth of the job has a pattern that could meet."""
        opened = self.reading.opened
        typed = opened.typed
        return any(
            f"cloth[{i}].repeat_across" in typed
            or f"cloth[{i}].repeat_along" in typed
            or opened.count(f"cloth[{i}].stripes")
            for i, _ in self.cloth_names
        )

    @cached_property
    def wishes(self) -> list[f.Field]:
        """What shall meet."""
        return self.form.fields("cover", f.MATCH_WISHES)

    @cached_property
    def match_more(self) -> list[f.Field]:
        """What may be turned to meet."""
        return self.form.fields("cover", f.MATCH_MORE)

    @cached_property
    def pins(self) -> list[f.Field]:
        """What stands on the open cushion's centre lines, and its row."""
        made = []
        for name in ("pin_across", "pin_along"):
            lines = self._lines(name)
            typed = self._typed(f"{self.here}.match.{name}")
            choices = [(x, x) for x in lines]
            if typed and typed not in lines:
                choices.insert(0, (typed, typed))
            if choices:
                as_job = self._typed(f"cover.match.{name}")
                usual = f"as the job: {as_job}" if as_job else "anything, to save cloth"
                made.append(self.form.field(f"{self.here}.match.{name}", usual=usual, hint="", choices=choices))
        as_job = self._typed("cover.match.row")
        return [*made, self.form.field(f"{self.here}.match.row", usual=f"as the job: {as_job}" if as_job else "alone")]

    def _lines(self, pin: str) -> list[str]:
        if self.job is None or self.made is None:
            return []
        pattern = self.job.cloth(self.made.cover.panel_cloth).pattern
        if not (pattern.changes_across if pin == "pin_across" else pattern.changes_along):
            return []
        names = [n for n, _ in pattern.lines]
        return [
            n.removeprefix("centre of ") if find_line(pattern, n.removeprefix("centre of ")) == n else n for n in names
        ]

    @cached_property
    def meets(self) -> list[tuple[str, list[tuple[str, str]]]]:
        """By cushion: what meets and what does not, in words, each with its verdict."""
        prepared = self.reading.prepared
        if prepared is None or self.job is None:
            return []
        seams = {s.id: s.cushion_id for s in prepared.construction.seams}
        names = {c.id: c.name for c in self.job.cushions}
        told: dict[str, dict[str, str]] = {}
        for drift in prepared.match.drifts:
            if drift.said and drift.verdict != "not matched":
                of = told.setdefault(names.get(seams.get(drift.seam_id, ""), ""), {})
                of.setdefault(drift.said, drift.verdict)
        return [(name, list(said.items())) for name, said in list(told.items())[:MOST_LISTED]]

    @property
    def mitres_apart(self) -> list[str]:
        """The mitres at which the pattern cannot meet, each by the names of its cushions."""
        if self.reading.prepared is None or self.job is None:
            return []
        names = {c.id: c.name for c in self.job.cushions}
        return [
            f"mitre between {names.get(a, a)} and {names.get(b, b)}"
            for a, b in self.reading.prepared.match.mitres_apart[:MOST_LISTED]
        ]

    @cached_property
    def cures(self) -> list[tuple[Cure, str, str]]:
        """What would make it meet: the cure, whose it is, and what it would cost where that was tried."""
        prepared = self.reading.prepared
        if prepared is None or self.job is None:
            return []
        names = {c.id: c.name for c in self.job.cushions}
        priced = [x.message for x in (self.worked.findings if self.worked else ()) if x.code == "MAT-090"]
        made: dict[tuple[str, str], tuple[Cure, str, str]] = {}
        for cure in dict.fromkeys(prepared.match.cures):
            cost = next((m[len(cure.what) + 2 :] for m in priced if m.startswith(f"{cure.what}: ")), "")
            name = names.get(cure.cushion_id, "")
            key = (cure.what, cure.cushion_id if cure.setting else "")
            before = made.get(key)
            made[key] = (cure, f"{before[1]}, {name}" if before else name, cost)
        return list(made.values())[:12]

    @cached_property
    def swatch(self) -> str:
        """A name for what the open cloth looks like: the same as long as that stays."""
        cloths = self.job.cloths if self.job is not None else ()
        return f"{crc32(repr(cloths[self.cloth]).encode()):08x}" if self.cloth < len(cloths) else ""

    # --- lay, buying, charging ---

    @cached_property
    def rough(self) -> Estimate | None:
        """Cloth and price as a range, before anything is laid."""
        if self.job is None or self.reading.stops or self.reading.large:
            return None
        return rough_of(self.reading)

    @property
    def plans(self) -> list[ClothPlan]:
        """The lays, one a cloth."""
        return list(self.worked.plans.values()) if self.worked else []

    def other_cloths(self, cloth_id: str) -> list[tuple[str, str]]:
        """Id and name of the cloths of which something could be cut instead."""
        cloths = self.job.cloths if self.job is not None else ()
        return [(c.id, c.name) for c in cloths if c.id != cloth_id][:MOST_OTHERS]

    def plan_drawing(self, cloth_id: str) -> Markup:
        """The lay of one cloth, to stand in the page."""
        return Markup(cutting_plan_svg(self.worked, cloth_id)) if self.worked else Markup("")

    @property
    def why_told(self) -> Told | None:
        """What was found out, in words; None while it is being found out, or where it could not be."""
        return None if self.why is None else outcome_of(self.why)

    @property
    def foam(self) -> list[tuple[str, list[str]]]:
        """For each sheet of foam that is bought: how many, and how they are cut."""
        if self.worked is None:
            return []
        job = self.worked.job
        return [(sheet_said(x, job.style), ways_said(x, job)) for x in self.worked.foam]

    def foam_drawing(self) -> Markup:
        """How the sheets of foam are cut, to stand in the page."""
        return Markup(foam_sheets_svg(self.worked)) if self.worked and self.worked.foam else Markup("")

    @property
    def aim_presses(self) -> list[tuple[str, str, bool]]:
        """What a lay may be good for beside its length: words, the value that asks for it, whether it is asked for."""
        first = self.job.then[0] if self.job is not None and self.job.then else ""
        rest = [(words, ", ".join((aim, *(a for a in AIMS if a != aim))), aim == first) for aim, words in _AIMS.items()]
        return [("Only its length", "", not first), *rest]

    def aims(self, plan: ClothPlan) -> list[tuple[str, str, str, bool]]:
        """The lays found for second aims: what for, what each costs, what comes of it, whether it is the one laid."""
        return [
            (_AIMS[x.aim], f"{self.length(x.costs_mm)} more cloth" if x.costs_mm else "no more cloth",
             self._serves(x), x.lay == plan.lay)
            for x in plan.aims
        ]  # fmt: skip

    def _serves(self, found: Improved) -> str:
        """What comes of an aim, in the job's figures."""
        u0, v0, u1, v1 = found.figures.left_mm
        if found.aim == "large remnant":
            return f"{self.figures.size(u1 - u0, v1 - v0)} is left whole"
        if found.aim == "straight cuts":
            return f"{found.figures.knife_runs} runs of the knife, {found.figures.cuts_across} right across"
        spread = max(found.figures.spread_mm.values(), default=0.0)
        return f"each cushion's pieces within {self.length(spread)}"

    def saving(self, plan: ClothPlan) -> str:
        """What a lay saves against the handbook's, in percent; nothing where it saves none."""
        lengths = self.on_bolt(plan)
        saved = 1 - lengths.lay_mm / lengths.by_rows_mm if lengths.by_rows_mm else 0.0
        return f"{saved:.0%}" if saved >= 0.005 else ""

    def proof(self, plan: ClothPlan) -> str:
        """What is proved of a lay, in words; what may be saved is what the two lengths are apart as printed."""
        lay, bound = self.on_bolt(plan).lay_mm, self.on_bolt(plan).least_mm
        if bound <= 0:
            return "Nothing is proved of it yet."
        step, least = self._step_mm, self.least_mm(bound)
        said = f"{plan.bound_said[:1].upper()}{plan.bound_said[1:]} less than {self.length(least)}"
        if lay - bound >= 1.0:
            left = self.length(floor(lay / step + 0.5) * step - least)
            return f"{said}; there may be {left} still to be saved."
        if plan.starts:
            return f"{said}."
        return f"Nothing can use less: no lay of these pieces is shorter than {self.length(least)}."

    def least_mm(self, bound_mm: float) -> float:
        """What nothing can beat, brought down to what is printed: never told as more than was proved."""
        return floor(bound_mm / self._step_mm + 1e-6) * self._step_mm

    @property
    def _step_mm(self) -> float:
        return 1.0 if self.figures.unit == "mm" else MM_PER_INCH / self.figures.style.parts_of_inch

    def on_bolt(self, plan: ClothPlan) -> OnBolt:
        """A lay's lengths along the bolt."""
        assert self.worked is not None
        return on_bolt(self.worked.job, plan)

    def length(self, mm: float) -> str:
        """A length of cloth to the millimetre, or to the job's own part of an inch."""
        if self.figures.unit == "mm":
            return f"{mm / 1000:.3f}\u00a0m"
        return self.figures.length(mm)

    @cached_property
    def prices(self) -> list[f.Field]:
        """How the price is made."""
        return [self.form.field(f"prices.{n}", hint="") for n in f.PRICE_FIRST]

    @cached_property
    def prices_more(self) -> list[f.Field]:
        """The prices of material."""
        return [self.form.field(f"prices.{n}", hint="") for n in f.price_names() if n not in f.PRICE_FIRST]

    @cached_property
    def minutes(self) -> list[f.Field]:
        """Minutes by operation, and what multiplies them."""
        return [self.form.field(f"prices.{n}", hint="") for n in f.minute_names()]

    @cached_property
    def titles(self) -> dict[str, tuple[str, str]]:
        """The sheets by file name: title, and what each is for."""
        return sheet_titles(self.worked) if self.worked else {}

    @cached_property
    def sheets(self) -> list[tuple[str, list[tuple[str, str, str]]]]:
        """The sheets by whom they are for: file name, title, and what each is for."""
        by_use: dict[str, list[tuple[str, str, str]]] = {}
        for name, (title, what) in self.titles.items():
            by_use.setdefault(_use_of(name), []).append((name, title, what))
        return [(use, by_use[use]) for use in _USES if use in by_use]

    @property
    def buys(self) -> list[tuple[str, str, str, str]]:
        """The shopping list: what, in detail, how much, what it costs."""
        if self.worked is None:
            return []
        figures = self.figures
        return [
            (
                figures.said(x.what),
                figures.said(x.detail),
                figures.quantity(x.buy, x.unit, as_sold=True),
                figures.money(x.cost),
            )
            for x in self.worked.supply.buy
        ]

    @property
    def each(self) -> list[tuple[str, int, str, str]]:
        """By cushion: name, how many, minutes of one, price with tax of all."""
        if self.worked is None or self.job is None:
            return []
        supply = self.worked.supply
        return [
            (c.name, c.count, self.figures.minutes(supply.minutes_per_cushion.get(c.id, 0.0)),
             self.figures.money(supply.price.per_cushion[c.id]) if c.id in supply.price.per_cushion else "")
            for c in self.job.cushions[:MOST_LISTED]
        ]  # fmt: skip

    @cached_property
    def agreed_price(self) -> Any:
        """The price as it was agreed, where one was."""
        return price_of(self.record.agreed.figures) if self.record.agreed else None

    @property
    def changed_since_agreed(self) -> bool:
        """Whether the price as the job stands differs from the one agreed."""
        if self.worked is None or self.agreed_price is None:
            return False
        return cast(bool, self.worked.supply.price.total != self.agreed_price.total)

    # --- findings ---

    @cached_property
    def all_findings(self) -> tuple[Finding, ...]:
        """Everything found, the lay's findings with it, each with the key it is about."""
        found = self.reading.opened.by_path
        own = tuple(replace(x, path=path) for path, xs in found.items() for x in xs)
        laid = tuple(x for x in (self.worked.findings if self.worked else ()) if x not in self.reading.findings)
        return tuple(sorted((*own, *laid), key=lambda x: (-x.severity, x.line or 0, x.code)))

    def of(self, name: str) -> tuple[Finding, ...]:
        """The lay's own findings, of one stage."""
        return tuple(x for x in self.all_findings if x.code.startswith(name))

    def count(self, severity: str) -> int:
        """How many findings there are of one severity."""
        return sum(x.severity.name == severity for x in self.all_findings)

    def shows(self, path: str) -> bool:
        """Whether the page shows the field of a key: that of the open cushion and cloth, or of the job."""
        for kind, here in (("cushion[", self.here), ("cloth[", self.cloth_here)):
            if path.startswith(kind):
                return path.startswith(here)
        return bool(path)

    def way_to(self, path: str) -> str:
        """The address of the field that a finding is about."""
        anchor = f.id_of(path) if path else "job"
        if path.startswith("cushion["):
            return f"/jobs/{self.id}?cushion={path[8 : path.index(']')]}#{anchor}"
        if path.startswith("cloth["):
            return f"/jobs/{self.id}?cloth={path[6 : path.index(']')]}#{anchor}"
        return f"#{anchor}"


def rough_of(reading: Reading) -> Estimate | None:
    """Cloth and price of a reading as a range."""
    prepared = reading.prepared
    if prepared is None:
        return None
    return estimate_from(prepared.job, prepared.construction, prepared.match, prepared.problems)


_USES = ("For the customer and the office", "For the table and the machine", "Patterns", "For a cutter", "Drawings")


def _use_of(name: str) -> str:
    """Whom a sheet is for, by its file name."""
    if name in (QUOTE, COSTING, SHOPPING):
        return _USES[0]
    if name in (PATTERNS, PLOTTER):
        return _USES[2]
    if name.endswith(".dxf"):
        return _USES[3]
    return _USES[4] if name.endswith(".svg") else _USES[1]


def _in(path: str, name: str) -> str:
    from squab.files.lines import path_of, place_of

    return path_of((*place_of(path), name))
