"""The index page of a made job: findings first, then the pictures, the figures and the sheets.

Plain HTML and CSS without a script; every text of the job is escaped, every link quoted. It reads
at 360 px and prints on white.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from urllib.parse import quote

from squab.draw.figures import Figures, shortened, valid_until, written_date
from squab.draw.sheets_common import on_bolt
from squab.draw.sheets_names import (
    FOAM,
    back_picture_name,
    picture_name,
    plan_picture_name,
    sheet_titles,
    underside_picture_name,
)
from squab.draw.sheets_parts import cushion_name
from squab.draw.svg import CHALK, INK, PAPER
from squab.findings import Finding, Severity, worst_first
from squab.job import Job
from squab.worked import WorkedJob

SOFT, HAIR, ALARM = "#5f594f", "#b9b4a6", "#8c2f1b"
"""Soft ink, hairlines, and the ink of a finding that stops. Each holds 4.5 to 1 on its ground, hairlines apart."""

LONG_WORD = 18
"""A word of more letters may be broken to fit its cell."""

STYLE = f"""
:root {{ color-scheme: light; }}
* {{ box-sizing: border-box; }}
body {{ margin: 0; background: {PAPER}; color: {INK}; overflow-wrap: anywhere;
  font: 1.0625rem/1.5 "Source Sans 3", "Source Sans Pro", "Segoe UI", Helvetica, Arial, sans-serif; }}
main, header, footer {{ max-width: 62rem; margin: 0 auto; padding: 0 1rem; }}
header {{ padding-top: 1.5rem; }}
h1 {{ font-size: 1.7rem; line-height: 1.2; margin: 0 0 .25rem; }}
h2 {{ font-size: 1.2rem; margin: 2rem 0 .5rem; border-bottom: 2px dashed {CHALK}; padding-bottom: .2rem; }}
p {{ margin: .3rem 0; }}
a {{ color: {CHALK}; text-underline-offset: .15em; }}
a:focus-visible {{ outline: 3px solid {CHALK}; outline-offset: 2px; }}
.soft {{ color: {SOFT}; }}
.sheets {{ list-style: none; margin: 0; padding: 0; display: grid; gap: .6rem;
  grid-template-columns: repeat(auto-fill, minmax(15rem, 1fr)); }}
.sheets a {{ display: block; min-height: 2.75rem; padding: .5rem .75rem; background: #fff;
  border: 1px solid {HAIR}; border-radius: 4px; text-decoration: none; font-weight: 600; }}
.sheets a:hover {{ border-color: {CHALK}; text-decoration: underline; }}
.sheets .soft {{ display: block; font-weight: 400; font-size: .9rem; }}
.findings {{ list-style: none; margin: 0; padding: 0; }}
.findings li {{ background: #fff; border-left: 6px solid {HAIR}; padding: .5rem .75rem; margin: .5rem 0; }}
.findings .warn {{ border-color: {CHALK}; }}
.findings .stop {{ border-color: {ALARM}; }}
.findings b {{ text-transform: uppercase; font-size: .85rem; letter-spacing: .04em; }}
.findings .stop b {{ color: {ALARM}; }}
.pictures {{ display: grid; gap: 1rem; grid-template-columns: repeat(auto-fit, minmax(min(18rem, 100%), 1fr)); }}
figure {{ margin: 0; background: #fff; border: 1px solid {HAIR}; border-radius: 4px; padding: .5rem; }}
figure img {{ width: 100%; height: auto; display: block; }}
figcaption {{ padding: .4rem .25rem 0; }}
.scroll {{ overflow-x: auto; }}
table {{ border-collapse: collapse; width: 100%; background: #fff; font-variant-numeric: tabular-nums; }}
th, td {{ overflow-wrap: normal; text-align: left; padding: .4rem .6rem;
  border-bottom: 1px solid {HAIR}; vertical-align: top; }}
thead th {{ border-bottom: 2px solid {INK}; }}
td.long {{ overflow-wrap: anywhere; }}
@media screen and (max-width: 40rem) {{
  thead {{ position: absolute; clip-path: inset(50%); width: 1px; height: 1px; overflow: hidden; }}
  table, tbody, tr, td {{ display: block; }}
  tr {{ border-bottom: 2px solid {HAIR}; padding: .3rem 0; }}
  td {{ border: 0; padding: .15rem .6rem; display: grid; grid-template-columns: 8.5rem 1fr; gap: .5rem; }}
  td::before {{ content: attr(data-label); color: {SOFT}; }}
}}
footer {{ padding: 2rem 1rem; }}
@media print {{
  body {{ background: #fff; font-size: 10.5pt; }}
  figure, tr, .findings li {{ break-inside: avoid; }}
  h2 {{ break-after: avoid; }}
  .sheets a {{ border: 0; padding: .1rem 0; min-height: 0; }}
}}
"""


def index_html(worked: WorkedJob, files: Iterable[str]) -> str:
    """The index page of a job as HTML; `files` are the names that stand in the folder beside it."""
    names, job, figures = list(files), worked.job, Figures.of(worked.job)
    body = "".join(
        (
            _head(job),
            "<main>",
            _findings(worked.findings),
            _pictures(worked, names, figures),
            _sizes(worked, figures),
            _cloth_and_price(worked, figures),
            _sheets(worked, names),
            "</main>",
            f"<footer class='soft'>{_text(job.workroom or 'Squab')} · figures in {_text(figures.unit_name)}</footer>",
        )
    )
    return (
        "<!DOCTYPE html>\n<html lang='en'><head><meta charset='utf-8'>"
        "<meta name='viewport' content='width=device-width, initial-scale=1'>"
        f"<title>{_text(job.name)}</title><style>{STYLE}</style></head><body>{body}</body></html>\n"
    )


def _text(text: str, most: int = 300) -> str:
    """A text of the job, on one line, escaped."""
    return escape(shortened("".join(c for c in text if c.isprintable() or c.isspace()), most), quote=True)


def _head(job: Job) -> str:
    about = " · ".join(_text(x) for x in (job.customer.name, job.reference, written_date(job.dated), job.workroom) if x)
    return f"<header><h1>{_text(job.name)}</h1><p class='soft'>{about}</p></header>"


def _findings(findings: Sequence[Finding]) -> str:
    if not findings:
        return "<h2>Findings</h2><p>Nothing was found wrong with this job.</p>"
    return f"<h2>Findings</h2><ul class='findings'>{''.join(_finding(f) for f in worst_first(findings))}</ul>"


def _finding(finding: Finding) -> str:
    word = {Severity.STOP: "stop", Severity.WARN: "mind", Severity.NOTE: "note"}[finding.severity]
    hint = f"<p class='soft'>{_text(finding.hint, 600)}</p>" if finding.hint else ""
    line = f", line {finding.line}" if finding.line is not None else ""
    kind = finding.severity.name.lower()
    return (
        f"<li class='{kind}'><b>{word}</b> <span class='soft'>{_text(finding.code)}{line}</span>"
        f"<p><strong>{_text(finding.place)}</strong>: {_text(finding.message, 900)}</p>{hint}</li>"
    )


def _pictures(worked: WorkedJob, names: Sequence[str], figures: Figures) -> str:
    drawn = []
    for cushion in worked.job.cushions:
        for name, tail in ((picture_name(worked.job, cushion.id), ""),
                           (back_picture_name(worked.job, cushion.id), ", from behind"),
                           (underside_picture_name(worked.job, cushion.id), ", from below")):  # fmt: skip
            if name in names:
                drawn.append(_figure(name, f"{cushion_name(cushion)}{tail}"))
    for cloth_id in worked.plans:
        name = plan_picture_name(worked.job, cloth_id)
        if name in names:
            drawn.append(_figure(name, f"Cutting plan, {worked.job.cloth(cloth_id).name}"))
    if FOAM in names:
        drawn.append(_figure(FOAM, "Foam from sheets"))
    return f"<h2>Pictures</h2><div class='pictures'>{''.join(drawn)}</div>" if drawn else ""


def _figure(name: str, caption: str) -> str:
    said, link = _text(caption), quote(name)
    return f"<figure><a href='{link}'><img src='{link}' alt='{said}'></a><figcaption>{said}</figcaption></figure>"


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    heads = "".join(f"<th scope='col'>{_text(h)}</th>" for h in head)
    body = "".join(f"<tr>{''.join(_cell(h, c) for h, c in zip(head, row, strict=True))}</tr>" for row in rows)
    return f"<div class='scroll'><table><thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table></div>"


def _cell(label: str, text: str) -> str:
    long = " class='long'" if max(map(len, text.split()), default=0) > LONG_WORD else ""
    return f"<td data-label='{_text(label)}'{long}><span>{_text(text) or '–'}</span></td>"


def _sizes(worked: WorkedJob, figures: Figures) -> str:
    covers = {c.cushion_id: c for c in worked.construction.covers}
    rows = []
    for cushion in worked.job.cushions:
        sizes = covers[cushion.id].sizes
        rows.append(
            (
                cushion_name(cushion),
                str(cushion.count),
                figures.box(sizes.seam),
                figures.box(sizes.finished),
                figures.box(sizes.fill),
                figures.box(sizes.seat) if sizes.seat else "",
                sizes.given.replace("_", " "),
            )
        )
    head = ("Cushion", "Of", "Seam size", "Finished", "Fill", "Seat", "You gave")
    return f"<h2>Sizes</h2>{_table(head, rows)}"


def _cloth_and_price(worked: WorkedJob, figures: Figures) -> str:
    lengths = {k: on_bolt(worked.job, p) for k, p in worked.plans.items()}
    rows = [
        (
            worked.job.cloth(k).name,
            "in hand" if worked.job.cloth(k).in_hand else figures.cloth(p.order_mm),
            figures.cloth(p.bolt_length_mm, to="enough") if p.bolt_length_mm is not None else "not measured",
            figures.cloth(lengths[k].lay_mm),
            figures.cloth(lengths[k].least_mm, to="no more"),
            "none" if (by_rows := lengths[k].by_rows_mm) is None else figures.cloth(by_rows),
        )
        for k, p in worked.plans.items()
    ]
    head = ("Cloth", "Order", "This bolt needs", "The lay", "None can take less", "By rows")
    price = worked.supply.price
    said = (
        f"<p>Price with {_text(price.tax_name)} <strong>{_text(figures.money(price.total))}</strong>, "
        f"deposit {_text(figures.money(price.deposit))}, valid {_text(valid_until(worked.job))}.</p>"
    )
    return f"<h2>Cloth and price</h2>{_table([figures.said(h.replace('bolt', '[[bolt]]')) for h in head], rows)}{said}"


def _sheets(worked: WorkedJob, names: Sequence[str]) -> str:
    items = []
    for name, (title, what) in sheet_titles(worked).items():
        if name in names:
            note = f"<span class='soft'>{_text(what)}</span>"
            items.append(f"<li><a href='{quote(name)}'>{_text(title)}{note}</a></li>")
    known = set(sheet_titles(worked)) | {"index.html"}
    others = [n for n in names if n not in known]
    links = "".join(f"<li><a href='{quote(n)}'>{_text(n)}</a></li>" for n in others)
    more = f"<details><summary>Each pattern as a drawing of its own, SVG</summary><ul>{links}</ul></details>"
    return f"<h2>Sheets</h2><ul class='sheets'>{''.join(items)}</ul>{more if others else ''}"
