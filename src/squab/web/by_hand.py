"""What was done by hand in the browser, written into the job's text or laid anew: always read and proved.

A stripe that was slid pins a line of the pattern on the cushion's centre line; an outline that was
drawn sets the cushion's own keys; pieces that were moved make a lay, which the verifier judges.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from squab.cloth import Cloth
from squab.desk import EditError, removed, with_value
from squab.errors import LayError
from squab.files.lines import path_of
from squab.lay.again import lay_again
from squab.lay.order import round_up, squared_off_mm
from squab.lay.records import ClothPlan, Placed
from squab.lay.verify import verify_fold
from squab.web.layview import fault_said, moved_lay
from squab.web.works import reading_of

MOST_LETTERS = 200_000
MOST_SIDES = 400
LEAST_SAVING_MM = 0.5
"""A lay round pinned pieces is kept if it is shorter by this."""
_SIZES = (
    "width", "depth", "front", "back", "offset", "diameter", "out_width", "out_depth", "out_corner", "ear_width",
    "ear_depth", "radius", "run",
)  # fmt: skip


def told(text: str) -> dict[str, Any]:
    """What the browser wrote into a hidden field.

    Raises
    ------
    EditError
        If it is no table of values.
    """
    try:
        value = json.loads(text) if len(text) <= MOST_LETTERS else None
    except (ValueError, RecursionError):
        value = None
    if not isinstance(value, dict):
        raise EditError("what was drawn did not arrive whole; do it again")
    return value


def slid(text: str, detail: Mapping[str, Any]) -> str:
    """Pin the pattern where it was slid to: a line of its own name, or one that is named now."""
    pins = detail.get("pins")
    if not isinstance(pins, list) or len(pins) > 100:
        raise EditError("what was slid did not arrive whole; do it again")
    for pin in pins:
        if isinstance(pin, dict):
            text = _pinned(text, pin)
    return text


def _pinned(text: str, pin: Mapping[str, Any]) -> str:
    cushion, cloth = _index(text, "cushion", pin.get("cushion")), _index(text, "cloth", pin.get("cloth"))
    line = pin.get("across_line")
    if isinstance(line, str) and line:
        text = with_value(text, f"cushion[{cushion}].match.pin_across", line[:120])
    elif _is_length(pin.get("across_mm")):
        text = _pinned_at(text, cushion, cloth, "pin_across", f"set for {pin['cushion']}", pin["across_mm"])
    if _is_length(pin.get("along_mm")):
        text = _pinned_at(text, cushion, cloth, "pin_along", f"set along for {pin['cushion']}", pin["along_mm"])
    return text


def _pinned_at(text: str, cushion: int, cloth: int, key: str, line: str, at_mm: float) -> str:
    name = " ".join(line.lower().split())[:120]
    text = with_value(text, path_of(("cloth", cloth, "lines", name)), f"{at_mm:.2f}".rstrip("0").rstrip(".") + " mm")
    return with_value(text, f"cushion[{cushion}].match.{key}", name)


def _is_length(value: object) -> bool:
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    return number and math.isfinite(value) and abs(value) < 5000  # type: ignore[arg-type]


def _index(text: str, kind: str, wanted: object) -> int:
    rows = reading_of(text).opened.raw.get(kind, ())
    found = next((i for i, row in enumerate(rows) if isinstance(row, Mapping) and row.get("id") == wanted), None)
    if found is None:
        raise EditError(f"there is no {kind} {str(wanted)[:40]!r} in the job any more")
    return found


def outlined(text: str, index: int, keys: Mapping[str, Any]) -> str:
    """Give a cushion the outline that was drawn; the sizes of its shape before are taken out."""
    shape = keys.get("shape")
    if shape not in ("rectangle", "run"):
        raise EditError("what was drawn did not arrive whole; do it again")
    here = f"cushion[{index}]"
    if index >= reading_of(text).opened.count("cushion"):
        raise EditError("there is no such cushion in the job any more")
    for name in _SIZES:
        if name not in keys:
            text = removed(text, f"{here}.{name}")
    text = with_value(text, f"{here}.shape", shape)
    for name in ("width", "depth", "radius", "run", "hidden"):
        if name in keys:
            text = with_value(text, f"{here}.{name}", _plain(keys[name]))
    return text


def _plain(value: Any, depth: int = 0) -> Any:
    """A value as it may stand in a job file: texts, numbers, and short lists and tables of them."""
    if isinstance(value, bool) or depth > 3:
        raise EditError("what was drawn did not arrive whole; do it again")
    if isinstance(value, str):
        return value[:60]
    if isinstance(value, (int, float)) and math.isfinite(value):
        return value
    if isinstance(value, list) and len(value) <= MOST_SIDES:
        return [_plain(v, depth + 1) for v in value]
    if isinstance(value, dict) and len(value) <= 12:
        return {str(k)[:40]: _plain(v, depth + 1) for k, v in value.items()}
    raise EditError("what was drawn did not arrive whole; do it again")


def moved(plan: ClothPlan, detail: Mapping[str, Any], names: Mapping[str, str]) -> ClothPlan:
    """The plan with pieces where they were laid by hand.

    Raises
    ------
    EditError
        If the lay is not sound then; says what is wrong, in the pieces' own names.
    """
    try:
        lay, faults = moved_lay(plan, _placed(detail.get("moved")))
    except LayError as error:
        raise EditError(str(error)) from error
    if faults:
        said = "; ".join(dict.fromkeys(fault_said(f, names) for f in faults[:4]))
        raise EditError(f"the pieces cannot lie so: {said}")
    longer = max(lay.length_mm - plan.lay.length_mm, 0.0)
    fold = plan.fold
    if fold is not None and verify_fold(plan.problem, lay, fold):
        fold = None  # its pairs no longer lie on one another: the cloth is opened
    return replace(
        plan, lay=lay, needs_mm=max(plan.needs_mm, lay.length_mm), order_mm=plan.order_mm + longer, fold=fold
    )


def laid_round(
    plan: ClothPlan, detail: Mapping[str, Any], names: Mapping[str, str], cloth: Cloth, *, seconds: float
) -> ClothPlan:
    """The plan with what is not pinned laid anew, on less cloth than before.

    Raises
    ------
    EditError
        If nothing is pinned, what was moved cannot lie so, or no shorter lay was found.
    """
    plan = moved(plan, detail, names)
    wanted = {(p.key, p.part_mm) for p in _placed(detail.get("pinned"))}
    pinned = {k for k, p in enumerate(plan.lay.placed) if (p.key, p.part_mm) in wanted}
    if not pinned:
        raise EditError("no piece is pinned")
    outcome = lay_again(plan, cloth, done=pinned, move="all", seconds=seconds)
    again = outcome.value
    if again is None or again.lay.length_mm > plan.lay.length_mm - LEAST_SAVING_MM:
        raise EditError("round the pinned pieces no shorter lay was found")
    order = plan.order_mm
    if not plan.starts:  # an order for every start of the pattern stays as it is
        order = round_up(squared_off_mm(again.lay.length_mm, cloth), cloth.sold_by_mm)
    return replace(again, problem=plan.problem, needs_mm=again.lay.length_mm, order_mm=order)


def _placed(rows: object) -> Iterable[Placed]:
    if not isinstance(rows, list) or len(rows) > 5000:
        raise EditError("what was moved did not arrive whole; do it again")
    for row in rows:
        try:
            part = row.get("part_mm")
            yield Placed(
                str(row["key"]), int(row["turn_deg"]), float(row["u_mm"]), float(row["v_mm"]),
                None if part is None else (float(part[0]), float(part[1])),
            )  # fmt: skip
        except (AttributeError, KeyError, TypeError, ValueError, IndexError) as error:
            raise EditError("what was moved did not arrive whole; do it again") from error
