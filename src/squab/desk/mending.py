"""Change a job's text as the program proposes: a cure, something given up, a bolt as measured."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from squab.desk.editing import edited, plain_of, removed, with_value
from squab.desk.reading import Opened, gives, opened
from squab.desk.tree import EditError, key_of
from squab.files.keys import COVER, Key, Table
from squab.files.lines import place_of
from squab.job import Job
from squab.match.records import Cure

Setting = tuple[str, str, object]
"""Cushion id (empty: every cushion), dotted name of a cover's field, value: as `squab.stages` changes a job."""
NOTHING = ("", "none", "-")
SHAPED = frozenset(("middle", "radius", "outline"))
"""Keys of a flaw that is no rectangle."""
"""What is noted of a thing that a cloth has not."""


def cures_of(job: Job) -> tuple[Cure, ...]:
    """What could be changed about how a job's pattern meets; those with a `setting` can be set by one tap."""
    from squab.stages import prepare

    prepared = prepare(job).value
    return () if prepared is None else prepared.match.cures


def cured(text: str, cure: Cure) -> str:
    """Set in a job's text what a cure says."""
    if cure.setting is None:
        raise EditError(f"{cure.what}: that is to be done by hand")
    return with_settings(text, [(cure.cushion_id, cure.setting, cure.value)])


def surrendered(text: str, what: str, *, cloth: str = "") -> str:
    """Give up in a job's text what `Surrender.what` names.

    `cloth` is the id of the cloth to use instead, where something is to be cut from another cloth.
    """
    from squab.stages import surrender_settings

    now = opened(text, check=False)
    if now.job is None:
        raise EditError("the job has findings that stop it; mend them first")
    settings = surrender_settings(now.job).get(what)
    if settings is None:
        raise EditError(f"{what!r} is nothing that can be given up here")
    if not isinstance(settings, str):
        return with_settings(text, settings)
    if cloth not in {c.id for c in now.job.cloths}:
        known = ", ".join(c.id for c in now.job.cloths)
        raise EditError(f"{what}: from which? the job's cloths are {known}; add another to it first")
    return with_settings(text, [("", settings, cloth)])


def with_settings(text: str, settings: Iterable[Setting]) -> str:
    """Set fields of covers in a job's text: those of one cushion, or of every cushion that has no value of its own."""
    for cushion_id, setting, value in settings:
        key, kind = _key_path(setting)
        written = _written(value, kind)
        for path in _paths(opened(text, check=False), cushion_id, key):
            text = with_value(text, path, written)
    return text


def _paths(now: Opened, cushion_id: str, key: str) -> list[str]:
    rows = [row for row in now.raw.get("cushion", ()) if isinstance(row, Mapping)]
    if cushion_id:
        at = next((i for i, row in enumerate(rows) if row.get("id") == cushion_id), None)
        if at is None:
            raise EditError(f"there is no cushion {cushion_id[:40]!r} in the job any more")
        return [f"cushion[{at}].{key}"]
    own = [f"cushion[{i}].{key}" for i, row in enumerate(rows) if gives(row, place_of(key))]
    return [f"cover.{key}", *own]


def _key_path(setting: str) -> tuple[str, Key]:
    """The key path of a cover's field, such as `match.sides_along` of `matching.sides_along`."""
    table: Table = COVER
    names, key = [], None
    for part in setting.split("."):
        key = next((k for k in table.keys if (k.field or k.name) == part), None)
        if key is None:
            raise EditError(f"a cover has no setting {setting!r}")
        names.append(key.name)
        table = key.table or table
    assert key is not None
    return ".".join(names), key


def _written(value: object, key: Key) -> Any:
    """A cover's value as it stands in a job file."""
    if key.kind == "choice" and isinstance(value, str):
        return value if value in key.choices else value.replace("_", " ")
    if key.kind == "length" and isinstance(value, (int, float)):
        return f"{value:g} mm"
    return value


def expected_bolt(text: str, cloth_id: str) -> dict[str, str]:
    """What is to be looked for when a cloth comes, as the job's text has it: what the label said.

    By the names of `with_bolt`, and `pile`: the text as typed, "none" for what a cloth has not (the
    repeat of a plain one), an empty text where nothing is known yet.
    """
    now = opened(text, check=False)
    at = _cloth_index(now, cloth_id)
    cloth = next((c for c in now.job.cloths if c.id == cloth_id), None) if now.job is not None else None

    def said(key: str) -> str:
        return now.typed.get(f"cloth[{at}].{key}", "")

    across = cloth is None or cloth.pattern.changes_across
    along = cloth is None or cloth.pattern.changes_along
    return {
        "width": said("usable_width"),
        "repeat_across": (said("repeat_across") or (said("repeat") if not along else "")) if across else "none",
        "repeat_along": (said("repeat_along") or (said("repeat") if not across else "")) if along else "none",
        "stripe_at": said("bolt.stripe_at") if across else "none",
        "print_at": said("bolt.print_at") if along else "none",
        "pile": "none" if said("pile") in ("", "false") else "",
    }


def _cloth_index(now: Opened, cloth_id: str) -> int:
    rows = now.raw.get("cloth", ())
    at = next((i for i, row in enumerate(rows) if isinstance(row, Mapping) and row.get("id") == cloth_id), None)
    if at is None:
        raise EditError(f"there is no cloth {cloth_id[:40]!r} in the job any more")
    return at


def with_bolt(
    text: str, cloth_id: str, measured: Mapping[str, str], flaws: Sequence[Mapping[str, str]] | None = None
) -> str:
    """Write the bolt as it was measured into a job's text, so that the lay follows it.

    Parameters
    ----------
    text
        The job's text.
    cloth_id
        Id of the cloth.
    measured
        By key, as typed: `width` (kept as the cloth's usable width) and the keys of a bolt, such as
        `length`, `lot`, `stripe_at`, `print_at`, `repeat_across`. What is empty or "none" is left as it is.
    flaws
        Each with `left`, `right`, `from`, `to`, `what`; None leaves those that are there, none takes them out.
        Flaws by their middle and radius, or by their corners, stay as they are written.
    """
    at = _cloth_index(opened(text, check=False), cloth_id)
    for name, typed in measured.items():
        path = f"cloth[{at}].usable_width" if name == "width" else f"cloth[{at}].bolt.{name}"
        if typed.strip().lower() not in NOTHING:
            text = edited(text, path, typed)
    if flaws is None:
        return text
    path = f"cloth[{at}].bolt.flaws"
    there = opened(text, check=False).raw["cloth"][at].get("bolt")
    listed = there.get("flaws", ()) if isinstance(there, Mapping) else ()
    shaped = [dict(f) for f in listed if isinstance(f, Mapping) and not f.keys().isdisjoint(SHAPED)]
    rows = [*shaped, *(_flaw(f, path) for f in flaws if SHAPED.isdisjoint(f))]
    return with_value(text, path, rows) if rows else removed(text, path)


def with_flaw(text: str, cloth_id: str, flaw: Mapping[str, str]) -> str:
    """Add one flaw to a cloth's bolt: found while it is being cut."""
    now = opened(text, check=False)
    there = now.raw["cloth"][_cloth_index(now, cloth_id)]
    bolt = there.get("bolt")
    kept = [f for f in bolt.get("flaws", ()) if isinstance(f, Mapping)] if isinstance(bolt, Mapping) else []
    return with_bolt(text, cloth_id, {}, [*({k: str(v) for k, v in f.items()} for f in kept), flaw])


def _flaw(typed: Mapping[str, str], path: str) -> dict[str, Any]:
    made = {}
    for name, value in typed.items():
        key = key_of(place_of(f"{path}[0].{name}"))
        if key is not None and value.strip():
            made[name] = plain_of(value, key)
    return made
