"""Each sheet of a worked job by its file name, from the same writers as the command line."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from functools import partial

from squab.draw import sheets_names as names
from squab.draw.sheets import (
    PLOTTER_WIDTH_MM,
    all_sheets,
    costing_pdf,
    cut_list_pdf,
    cutting_plan_pdf,
    labels_pdf,
    lay_unit,
    marking_sheet_pdf,
    quote_pdf,
    sewing_order_pdf,
    shopping_list_pdf,
)
from squab.supply.records import Price
from squab.worked import WorkedJob


def sheet(worked: WorkedJob, name: str, figures: Mapping[str, str] | None = None) -> bytes:
    """One sheet. `figures` are those agreed with the customer, which the quotation then shows.

    Raises
    ------
    KeyError
        If the job has no sheet of that name.
    """
    return _makers(_agreed(worked, figures))[name]()


def folder_zip(worked: WorkedJob, figures: Mapping[str, str] | None = None) -> bytes:
    """Every sheet, as the command line makes them, in one archive."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in all_sheets(_agreed(worked, figures)).items():
            archive.writestr(zipfile.ZipInfo(name, (2000, 1, 1, 0, 0, 0)), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def price_of(figures: Mapping[str, str]) -> Price:
    """The price that was agreed, of its figures (`squab.desk.agreed_figures`)."""
    names = ("hours", "making", "net", "tax", "total", "deposit", "tax_pct")
    amount = {name: Decimal(figures.get(name, "0")) for name in names}
    materials = Decimal(figures.get("materials", "0"))
    return Price(
        **amount,
        materials_cost=materials,
        materials_charge=materials,
        currency=figures.get("currency", "GBP"),
        tax_name=figures.get("tax_name", ""),
        minimum_applied=False,
        per_cushion={k.removeprefix("cushion "): Decimal(v) for k, v in figures.items() if k.startswith("cushion ")},
    )


def _agreed(worked: WorkedJob, figures: Mapping[str, str] | None) -> WorkedJob:
    if not figures:
        return worked
    return replace(worked, supply=replace(worked.supply, price=price_of(figures)))


def _makers(worked: WorkedJob) -> dict[str, Callable[[], bytes]]:
    """File name to what makes it, in the order of the work; nothing is made yet."""
    from squab.draw.picture import cushion_back_picture_svg, cushion_picture_svg
    from squab.draw.plan import cutting_plan_svg

    job = worked.job
    made: dict[str, Callable[[], bytes]] = {
        names.QUOTE: lambda: quote_pdf(worked, {c.id: cushion_picture_svg(worked, c.id) for c in job.cushions}),
        names.COSTING: partial(costing_pdf, worked),
        names.SHOPPING: partial(shopping_list_pdf, worked),
    }
    for k in worked.plans:
        made[names.plan_name(job, k)] = lambda k=k: cutting_plan_pdf(worked, k, cutting_plan_svg(worked, k))  # type: ignore[misc]
        made[names.marking_name(job, k)] = partial(marking_sheet_pdf, worked, k)
        made[names.plan_picture_name(job, k)] = lambda k=k: cutting_plan_svg(worked, k).encode()  # type: ignore[misc]
        made[names.lay_dxf_name(job, k)] = partial(_lay_dxf, worked, k)
    made |= {names.CUT_LIST: partial(cut_list_pdf, worked), names.LABELS: partial(labels_pdf, worked)}
    for c in job.cushions:
        made[names.sewing_name(job, c.id)] = partial(sewing_order_pdf, worked, c.id)
        made[names.picture_name(job, c.id)] = lambda c=c: cushion_picture_svg(worked, c.id).encode()  # type: ignore[misc]
        made[names.back_picture_name(job, c.id)] = lambda c=c: cushion_back_picture_svg(worked, c.id).encode()  # type: ignore[misc]
    return made | {
        names.PATTERNS: partial(_patterns, worked),
        names.PLOTTER: partial(_plotter, worked),
        names.DXF_MM: partial(_pieces_dxf, worked, "mm"),
        names.DXF_IN: partial(_pieces_dxf, worked, "in"),
    }


# The heavy writers are imported where they run.
def _patterns(worked: WorkedJob) -> bytes:
    from squab.draw.patterns import pattern_pdf

    return pattern_pdf(worked, worked.job.paper)


def _plotter(worked: WorkedJob) -> bytes:
    from squab.draw.patterns import plotter_pdf

    return plotter_pdf(worked, PLOTTER_WIDTH_MM)


def _pieces_dxf(worked: WorkedJob, unit: str) -> bytes:
    from squab.draw.dxf import pieces_dxf

    return pieces_dxf(worked, unit)  # type: ignore[arg-type]


def _lay_dxf(worked: WorkedJob, cloth_id: str) -> bytes:
    from squab.draw.dxf import lay_dxf

    return lay_dxf(worked, cloth_id, lay_unit(worked.job))
