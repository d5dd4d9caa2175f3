"""The command line: estimate, check, lay, make, serve.

Results go to stdout, findings and progress to stderr. Exit 0: fine; 1: findings that stop; 2:
misuse. Heavy libraries are imported inside the commands that need them, so that a quick
question is quickly answered.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import Executor
from contextlib import contextmanager
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn, cast

import typer

from squab.errors import LengthError, SquabError
from squab.findings import Finding, Severity
from squab.units import Style, Unit, format_cloth_length, format_length, parse_length

if TYPE_CHECKING:
    from squab.job import Aim, Job
    from squab.lay.blocks import SheetsToBuy
    from squab.lay.records import ClothPlan, Improved
    from squab.reasons import Reasons
    from squab.rough import Estimate
    from squab.worked import WorkedJob

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="From tape measure to cut, matched, priced covers for loose seat cushions.",
)

JobFile = Annotated[Path, typer.Argument(help="the job file (TOML)", metavar="JOB", show_default=False)]
AsJson = Annotated[bool, typer.Option("--json", help="print the result as JSON")]
Seconds = Annotated[float, typer.Option(help="time for the lay searches", min=0.1, max=3600)]
Seed = Annotated[int, typer.Option(help="seed of the searches: the same seed, the same start")]
MOST_READ_BYTES = 256_000_000
"""Enough to say how large a file is; the reader itself refuses far less."""
FINE, STOPPED, MISUSED, PROGRAM_FAULT, INTERRUPTED = 0, 1, 2, 70, 130


@app.command()
def estimate(
    width: Annotated[str, typer.Argument(help="across the front, such as 24, 610mm or '23 1/2'")],
    depth: Annotated[str, typer.Argument(help="front to back")],
    thickness: Annotated[str, typer.Argument(help="of the bare fill")],
    unit: Annotated[str, typer.Option(help="of bare numbers: in, mm or cm")] = "in",
    count: Annotated[int, typer.Option(help="how many alike", min=1, max=10_000)] = 1,
    size_is: Annotated[
        str, typer.Option(help="what the numbers are: seat, fill, 'old cover', finished, seam")
    ] = "seat",
    cloth_width: Annotated[str | None, typer.Option(help="usable width of the cloth; 54 in or 1370 mm")] = None,
    repeat_across: Annotated[str | None, typer.Option(help="the pattern's repeat across the cloth")] = None,
    repeat_along: Annotated[str | None, typer.Option(help="the pattern's repeat along the cloth")] = None,
    half_drop: Annotated[bool, typer.Option(help="the print is a half drop")] = False,
    one_way: Annotated[bool, typer.Option(help="nap, or a print with an up and a down")] = False,
    piping: Annotated[bool, typer.Option(help="piped on both edges")] = True,
    cloth_price: Annotated[str | None, typer.Option(help="price of a metre of the cloth")] = None,
    as_json: AsJson = False,
) -> None:
    """Say how much cloth, and about what price, from three rough numbers."""
    from squab.files.asked import asked_text, cloth_keys
    from squab.files.jobfile import read_job
    from squab.files.keys import SIZE_IS
    from squab.rough import estimate_job

    if unit not in ("in", "mm", "cm"):
        _misuse(f"--unit is {unit!r}; it may be in, mm or cm")
    if size_is.replace("_", " ") not in SIZE_IS:
        _misuse(f"--size-is is {size_is!r}; it may be {', '.join(SIZE_IS[:-1])} or {SIZE_IS[-1]}")
    if half_drop and not (repeat_across and repeat_along):
        _misuse("--half-drop is of a print: give --repeat-across and --repeat-along as well")
    sizes = {"width": width, "depth": depth, "thickness": thickness}
    widths = {"--cloth-width": cloth_width, "--repeat-across": repeat_across, "--repeat-along": repeat_along}
    of_bare = cast(Unit, unit)
    for name, text in (sizes | widths).items():
        if text is not None:
            _length(name, text, of_bare)
    pattern = "bands" if repeat_along else "stripe"
    if repeat_across and repeat_along:
        pattern = "half" if half_drop else "print"
    cloth = cloth_keys(
        pattern,
        of_bare,
        width=cloth_width or "",
        across=repeat_across or "",
        along=repeat_along or "",
        one_way=one_way,
    )
    price, edges = _money(cloth_price), "both" if piping else "none"
    tables: dict[str, dict[str, object]] = {
        "[job]": {"name": "estimate", "units": unit, "size_is": size_is.replace("_", " ")},
        "[[cloth]]": {"id": "wanted", **cloth, "price_per_m": None if price is None else float(price)},
        "[[cushion]]": {"id": "wanted", "name": "cushion", **sizes, "count": count, "piping": edges},
    }
    text = asked_text(tables)
    asked = read_job(text.encode(), name="the command line")
    read, found = (None if asked.stops else asked.value), asked.findings
    if read is None:
        _leave(_of_no_file(found), as_json)
    outcome = estimate_job(read)
    findings = _of_no_file((*found, *outcome.findings))
    if outcome.value is None:
        _leave(findings, as_json)
    _show_findings(findings)
    print(json.dumps(_estimate_record(outcome.value)) if as_json else _estimate_text(outcome.value, read.style))


def _of_no_file(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings of a job that nobody wrote: with no lines, and no keys to be set where nothing has to be mended."""
    from dataclasses import replace

    return tuple(replace(f, line=None, path="", hint="" if f.severity is Severity.NOTE else f.hint) for f in findings)


@app.command()
def check(job: JobFile, as_json: AsJson = False) -> None:
    """Find what is wrong or worth saying about a job; nothing is laid or written."""
    from squab.stages import check as found_in

    read, found = _read(job)
    findings = (*found, *found_in(read)) if read else found
    if as_json:
        print(json.dumps({"findings": [_finding_record(f) for f in findings]}))
    else:
        _show_findings(findings)
        if not findings:
            print(f"{job.name}: nothing to mend")
    raise typer.Exit(STOPPED if any(f.severity is Severity.STOP for f in findings) else FINE)


@app.command()
def lay(
    job: JobFile,
    seconds: Seconds = 10.0,
    seed: Seed = 0,
    cloth: Annotated[str, typer.Option(help="only the cloth of this id")] = "",
    then: Annotated[
        list[str] | None,
        typer.Option(
            help="once it is as short as can be: remnant (one large one), cuts (few, straight), "
            "together (each cushion's pieces); again for the next"
        ),
    ] = None,
    double: Annotated[
        bool, typer.Option("--double", help="fold plain cloth along its length and cut pairs through both layers")
    ] = False,
    may_add: Annotated[str, typer.Option(help="how much longer that may make a lay, such as 20mm")] = "",
    why: Annotated[
        bool, typer.Option("--why", help="say what holds each lay, what each match costs, what would save most")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Lay a job's pieces on its cloths, with proof. Ctrl-C keeps the best lay so far."""
    from dataclasses import replace

    from squab.stages import work

    read, found = _read(job)
    if read is None:
        _leave(found, as_json)
    if cloth and cloth not in {c.id for c in read.cloths}:
        _misuse(f"--cloth is {cloth!r}; the job has {', '.join(c.id for c in read.cloths)}")
    read = _with_aims(read, then or [], may_add)
    if double:
        read = replace(read, cloths=tuple(replace(c, cut_double=True) for c in read.cloths))
    with _told_when_stopped("there is no lay yet"), _progress() as tell, _interruptible() as stop:
        outcome = work(read, seconds=seconds, seed=seed, workers=_workers(), trials=False, report=tell, stop=stop)
        reasons = _reasons(outcome.value, seconds, seed, tell, stop) if why and outcome.value else None
    if outcome.value is None:
        _leave((*found, *outcome.findings), as_json)
    plans = {k: p for k, p in outcome.value.plans.items() if not cloth or k == cloth}
    _show_findings((*found, *outcome.findings))
    if as_json:
        from squab.reasons import reasons_record

        said = {"why": reasons_record(reasons)} if reasons else {}
        foam = [_foam_record(s) for s in outcome.value.foam]
        lays = [_plan_record(p) for p in plans.values()]
        print(json.dumps({"lays": lays, "foam": foam, **said}))
    else:
        from squab.reasons import reasons_said

        for plan in plans.values():
            print(_plan_text(plan, outcome.value))
        for sheets in outcome.value.foam:
            print(_foam_text(sheets, outcome.value))
        print("\n".join(reasons_said(reasons, outcome.value)) if reasons else "", end="\n" if reasons else "")


@app.command()
def make(
    job: JobFile,
    into: Annotated[Path | None, typer.Option(help="the folder to write; by default beside the job file")] = None,
    seconds: Seconds = 10.0,
    seed: Seed = 0,
    paper: Annotated[str, typer.Option(help="a4 or letter; by default as the job says")] = "",
    as_json: AsJson = False,
) -> None:
    """Make everything: quote, shopping list, cutting plan, marking sheets, patterns, sewing order."""
    from dataclasses import replace

    from squab.draw.sheets import all_sheets
    from squab.files.folder import check_folder, write_folder
    from squab.stages import work

    if paper not in ("", "a4", "letter"):
        _misuse(f"--paper is {paper!r}; it may be a4 or letter")
    read, found = _read(job)
    if read is None:
        _leave(found, as_json)
    if paper:
        read = replace(read, paper="letter" if paper == "letter" else "a4")
    target = into or job.with_suffix("")
    check_folder(target)
    kept = "nothing was written; the old folder, if there was one, is as it was"
    with _told_when_stopped(kept), _progress() as tell, _drawing_pool() as pool:
        with _interruptible() as stop:
            outcome = work(read, seconds=seconds, seed=seed, workers=_workers(), report=tell, stop=stop)
        if outcome.value is None:
            _leave((*found, *outcome.findings), as_json)
        worked = replace(outcome.value, findings=(*found, *outcome.findings))
        with _ctrl_c_heeded(at_once=True):
            tell("drawing the sheets", 0.0)
            files = all_sheets(worked, executor=pool)
    with _told_when_stopped(f"all {len(files)} files were written to {target} first"):
        with _ctrl_c_heeded(at_once=False):
            write_folder(target, files)
        _say_what_was_made(worked, target, files, as_json)


def _say_what_was_made(worked: WorkedJob, target: Path, files: Mapping[str, bytes], as_json: bool) -> None:
    from squab.draw.summary import worked_json

    _show_findings(worked.findings)
    if as_json:
        print(json.dumps(worked_json(worked) | {"folder": str(target), "files": sorted(files)}))
        return
    for plan in worked.plans.values():
        print(_plan_text(plan, worked))
    for sheets in worked.foam:
        print(_foam_text(sheets, worked))
    price = worked.supply.price
    print(f"price {price.total} {price.currency} with {price.tax_name}, deposit {price.deposit}")
    print(f"{len(files)} files in {target}; start with {target / 'index.html'}")


@app.command()
def serve(
    port: Annotated[int, typer.Option(help="the next free one is taken where it is in use", min=1, max=65535)] = 8024,
    folder: Annotated[Path | None, typer.Option(help="where jobs are kept; by default your own data folder")] = None,
    browser: Annotated[bool, typer.Option(help="open the browser")] = True,
    workers: Annotated[int, typer.Option(help="processes for searches", min=1, max=64)] = 1,
    on_network: Annotated[
        bool, typer.Option("--on-network", help="let telephones in from your own network too, by a code")
    ] = False,
    address: Annotated[
        str, typer.Option(help="this machine's address in that network; found where you give none")
    ] = "",
) -> None:
    """Open the workroom in the browser, on this machine only unless you say otherwise."""
    from squab.web.serving import serve as open_workroom

    if address and not on_network:
        _misuse("--address is that of a network: say --on-network as well")
    open_workroom(folder, port, browser=browser, workers=workers, network=address if on_network else None)


@app.command()
def schema() -> None:
    """Print the JSON Schema of the job file, for editors."""
    from squab.files.schema import job_schema

    print(json.dumps(job_schema(), indent=2, ensure_ascii=False))


MOST_WORKERS = 4
"""Threads that search beside one another; more gain little."""


def _workers() -> int:
    """As many searching threads as there are cores, within reason."""
    return min(os.cpu_count() or 1, MOST_WORKERS)


def _read(path: Path) -> tuple[Job | None, tuple[Finding, ...]]:
    from squab.files.jobfile import read_job

    try:
        with path.open("rb") as file:
            data = file.read(MOST_READ_BYTES)
    except OSError as error:
        _misuse(f"{path} cannot be read: {error.strerror or error}")
    outcome = read_job(data, name=path.name)
    return (None if outcome.stops else outcome.value), outcome.findings


def _leave(findings: Iterable[Finding], as_json: bool) -> NoReturn:
    if as_json:
        print(json.dumps({"findings": [_finding_record(f) for f in findings]}))
    _show_findings(findings)
    raise typer.Exit(STOPPED)


def _misuse(message: str) -> NoReturn:
    print(f"squab: {message}", file=sys.stderr)
    raise typer.Exit(MISUSED)


def _length(name: str, text: str, unit: Unit) -> float:
    try:
        return parse_length(text, unit).mm
    except LengthError as error:
        _misuse(f"{name}: {error}")


def _money(text: str | None) -> Decimal | None:
    if text is None:
        return None
    try:
        value = Decimal(text)
    except InvalidOperation:
        _misuse(f"--cloth-price is {text!r}; write it as 42 or 42.50")
    if not value.is_finite() or value < 0:
        _misuse(f"--cloth-price is {text}; it may not be negative")
    return value


def _show_findings(findings: Iterable[Finding]) -> None:
    findings = tuple(findings)
    if not findings:
        return
    colour = {Severity.STOP: "1;31", Severity.WARN: "33", Severity.NOTE: "36"}
    plain = not sys.stderr.isatty() or bool(os.environ.get("NO_COLOR"))
    for f in findings:
        text, name = f.text(), len(f.severity.name)
        print(text if plain else f"\x1b[{colour[f.severity]}m{text[:name]}\x1b[0m{text[name:]}", file=sys.stderr)


@contextmanager
def _progress() -> Iterator[Callable[[str, float], None]]:
    """Show one live line on a terminal; elsewhere a plain line for each stage."""
    from rich.console import Console

    console, begun, last = Console(stderr=True, highlight=False), time.monotonic(), [""]

    def line(stage: str, length_mm: float) -> str:
        length = f", {length_mm / 1000:.3f} m so far" if length_mm else ""
        return f"{stage}{length} ({time.monotonic() - begun:.1f} s)"

    if not console.is_terminal:

        def plain(stage: str, length_mm: float) -> None:
            if stage != last[0]:
                last[0] = stage
                print(line(stage, 0.0), file=sys.stderr, flush=True)

        yield plain
        return
    with console.status("") as status:
        yield lambda stage, length_mm: status.update(line(stage, length_mm))


def _ready_to_draw() -> None:
    """Make a worker process ready: deaf to Ctrl-C, which is the parent's, and with its libraries loaded."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    from squab.draw.sheets import load_writers

    load_writers()


@contextmanager
def _drawing_pool() -> Iterator[Executor]:
    """Processes that make sheets; they load their libraries while the lay is searched."""
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(2, mp_context=context, initializer=_ready_to_draw) as pool:
        with _born_deaf_to_ctrl_c():
            pool.submit(int)
            pool.submit(int)
        yield pool


@contextmanager
def _born_deaf_to_ctrl_c() -> Iterator[None]:
    """Let processes started meanwhile never hear Ctrl-C; one pressed meanwhile is heard here when this ends.

    A terminal sends it to them as well, and one that is starting would die of it before `_ready_to_draw`.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextmanager
def _told_when_stopped(left: str) -> Iterator[None]:
    """Say what a second Ctrl-C, or one past the search, leaves behind; the library of commands would say nothing."""
    try:
        yield
    except KeyboardInterrupt:
        print(f"squab: stopped; {left}", file=sys.stderr)
        raise typer.Exit(INTERRUPTED) from None


@contextmanager
def _interruptible() -> Iterator[Callable[[], bool]]:
    """Let Ctrl-C stop the search with its best so far; a second one leaves."""
    pressed: list[int] = []
    before = signal.getsignal(signal.SIGINT)

    def press(number: int, frame: Any) -> None:
        if pressed:
            raise KeyboardInterrupt
        pressed.append(number)
        print("stopping with the best lay so far", file=sys.stderr)

    signal.signal(signal.SIGINT, press)
    try:
        yield lambda: bool(pressed)
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def _ctrl_c_heeded(*, at_once: bool) -> Iterator[None]:
    """Heed Ctrl-C when this ends, and `at_once` too.

    At once is not enough where much is imported: what is raised in one of Python's own callbacks is dropped.
    """
    pressed: list[int] = []

    def press(number: int, frame: Any) -> None:
        pressed.append(number)
        if at_once:
            raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, press)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if pressed:
        raise KeyboardInterrupt


def _finding_record(f: Finding) -> dict[str, Any]:
    return {
        "code": f.code,
        "severity": f.severity.name.lower(),
        "place": f.place,
        "message": f.message,
        "hint": f.hint,
        "line": f.line,
        "path": f.path or None,
    }


AIMS_BY_WORD: dict[str, Aim] = {"remnant": "large remnant", "cuts": "straight cuts", "together": "cushions together"}


def _with_aims(job: Job, words: list[str], may_add: str) -> Job:
    """The job with second aims as typed, where any are."""
    from dataclasses import replace

    for word in words:
        if word not in AIMS_BY_WORD:
            _misuse(f"--then is {word!r}; it may be {', '.join(AIMS_BY_WORD)}")
    unit: Unit = "in" if job.style.system == "imperial" else "mm"
    job = replace(job, then_may_add_mm=_length("--may-add", may_add, unit)) if may_add else job
    return replace(job, then=tuple(AIMS_BY_WORD[w] for w in dict.fromkeys(words))) if words else job


def _reasons(
    worked: WorkedJob, seconds: float, seed: int, tell: Callable[[str, float], None], stop: Callable[[], bool]
) -> Reasons:
    from squab.reasons import reasons

    def trying(what: str) -> None:
        tell(f"trying: {what}", 0.0)

    return reasons(worked, seconds=seconds, seed=seed, report=trying, stop=stop)


def _estimate_record(e: Estimate) -> dict[str, Any]:
    return {
        "cloth_least_mm": round(e.cloth_least_mm, 1),
        "cloth_most_mm": round(e.cloth_most_mm, 1),
        "price_least": str(e.price_least),
        "price_most": str(e.price_most),
        "currency": e.currency,
        "minutes_per_cushion": round(e.minutes_per_cushion, 1),
        "without_cloth_price": e.without_cloth_price,
    }


def _estimate_text(e: Estimate, style: Style) -> str:
    low, high = (format_cloth_length(x, style) for x in (e.cloth_least_mm, e.cloth_most_mm))
    cloth = low if low == high else f"{low} to {high}"
    price = f"{e.price_least}" if e.price_least == e.price_most else f"{e.price_least} to {e.price_most}"
    but = ", the cloth itself not counted" if e.without_cloth_price else ""
    size = e.job.cushions[0]
    measured = size.size_is.replace("_", " ")
    what = " x ".join(format_length(x, style, unit=False) for x in (*size.outline.bounds()[2:], size.thickness_mm))
    return (
        f"{size.count} of {what} {'in' if style.system == 'imperial' else 'mm'}, measured as the {measured}\n"
        f"cloth to order  {cloth}\n"
        f"price with tax  {price} {e.currency}{but}\n"
        f"making          about {e.minutes_per_cushion:.0f} minutes a cushion"
    )


def _plan_record(p: ClothPlan) -> dict[str, Any]:
    return {
        "cloth": p.cloth_id,
        "length_mm": round(p.lay.length_mm, 2),
        "bound_mm": round(p.bound.length_mm, 2),
        "bound_method": p.bound.method,
        "gap": round(p.gap, 5),
        "handbook_mm": round(p.handbook_mm, 2),
        "saving": round(1 - p.lay.length_mm / p.handbook_mm, 5) if p.handbook_mm else 0.0,
        "needs_mm": round(p.needs_mm, 2),
        "order_mm": round(p.order_mm, 2),
        "bolt_length_mm": None if p.bolt_length_mm is None else round(p.bolt_length_mm, 2),
        "aims": [
            {
                "aim": a.aim,
                "costs_mm": round(a.costs_mm, 2),
                "left_mm": [round(x, 2) for x in a.figures.left_mm],
                "knife_runs": a.figures.knife_runs,
                "cuts_across": a.figures.cuts_across,
                "spread_mm": {k: round(v, 2) for k, v in a.figures.spread_mm.items()},
            }
            for a in p.aims
        ],
        "double": None
        if p.fold is None
        else {
            "folded_mm": round(p.fold.until_mm, 2),
            "open_mm": round(p.fold.open_mm, 2),
            "pairs": [[p.lay.placed[k].key for k in pair] for pair in p.fold.pairs],
        },
        "placed": [
            {"key": x.key, "turn_deg": x.turn_deg, "u_mm": x.u_mm, "v_mm": x.v_mm, "part_mm": x.part_mm}
            for x in p.lay.placed
        ],
    }


def _foam_record(s: SheetsToBuy) -> dict[str, Any]:
    return {
        "foam": s.sheet.foam,
        "thickness_mm": s.sheet.thickness_mm,
        "width_mm": s.sheet.width_mm,
        "length_mm": s.sheet.length_mm,
        "sheets": s.count,
        "at_least": s.at_least,
        "cuts": [
            {
                "sheets": c.count,
                "placed": [
                    {"key": x.key, "turn_deg": x.turn_deg, "u_mm": x.u_mm, "v_mm": x.v_mm} for x in c.lay.placed
                ],
            }
            for c in s.cuts
        ],
    }


def _plan_text(p: ClothPlan, worked: WorkedJob) -> str:
    from squab.draw.sheets_common import on_bolt

    style, cloth = worked.job.style, worked.job.cloth(p.cloth_id)
    lengths = on_bolt(worked.job, p)

    def m(length_mm: float) -> str:
        return f"{length_mm / 1000:.3f} m" if style.system == "metric" else f"{length_mm / 25.4:.1f} in"

    least = m(lengths.least_mm)
    lines = [
        f"{cloth.name}: " + ("in hand" if cloth.in_hand else f"order {format_cloth_length(p.order_mm, style)}"),
        f"  this lay uses {m(lengths.lay_mm)}; {p.bound_said} less than {least} ({p.bound.method})",
    ]
    if lengths.by_rows_mm:
        saved = 1 - lengths.lay_mm / lengths.by_rows_mm
        saves = f": {saved:.0%} saved" if saved >= 0.005 else ""
        lines.append(f"  the handbook method takes {m(lengths.by_rows_mm)}{saves}")
    if p.bolt_length_mm is not None:
        lines.insert(1, f"  this bolt needs {m(p.bolt_length_mm)} squared off")
    if p.fold is not None:
        until = format_cloth_length(p.fold.until_mm * cloth.cut_scale[1], style)
        cuts = f"{len(p.fold.pairs)} {'cut' if len(p.fold.pairs) == 1 else 'cuts'}"
        lines.append(f"  folded face to face for {until}: {cuts} through both layers")
    lines += [f"  {p.risk}"] if p.risk else []
    lines += [f"  {_aim_text(a, style)}" for a in p.aims]
    lines += [f"  could give up {s.what}: frees {m(s.frees_mm)}" for s in p.surrenders]
    return "\n".join(lines)


def _foam_text(s: SheetsToBuy, worked: WorkedJob) -> str:
    from squab.draw.foam import sheet_said, ways_said

    lines = [f"{sheet_said(s, worked.job.style)}; by area no fewer than {s.at_least}"]
    return "\n".join([*lines, *(f"  {x}" for x in ways_said(s, worked.job))])


def _aim_text(a: Improved, style: Style) -> str:
    u0, v0, u1, v1 = a.figures.left_mm
    left = f"{format_length(u1 - u0, style, unit=False)} x {format_length(v1 - v0, style)}"
    spread = max(a.figures.spread_mm.values(), default=0.0)
    costs = f"{format_length(a.costs_mm, style)} more cloth" if a.costs_mm else "no more cloth"
    return (
        f"for {a.aim}: {costs}; largest piece left {left}, {a.figures.knife_runs} runs of the knife, "
        f"{a.figures.cuts_across} cuts right across, a cushion's pieces within {format_length(spread, style)}"
    )


def main() -> None:
    """Run the command line; a misuse of the library is told in one line, never a traceback."""
    # The matrices here are small: a thread for each core would take longer to start than to use.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        app()
    except SquabError as error:
        print(f"squab: {error}", file=sys.stderr)
        sys.exit(MISUSED)
    except KeyboardInterrupt:
        print("squab: stopped", file=sys.stderr)
        sys.exit(INTERRUPTED)
    except Exception as error:
        if os.environ.get("SQUAB_TRACE"):
            raise
        print(f"squab: a fault of the program, not of your job: {type(error).__name__}: {error}", file=sys.stderr)
        print("  hint: nothing was written; set SQUAB_TRACE=1 and run again to see where", file=sys.stderr)
        sys.exit(PROGRAM_FAULT)


if __name__ == "__main__":
    main()
