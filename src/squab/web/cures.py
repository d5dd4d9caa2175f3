"""From a setting of a cover, as the stages name it, to its key in the job file."""

from __future__ import annotations

from squab.desk import EditError
from squab.files.keys import COVER, Table


def key_of_setting(setting: str) -> str:
    """The dotted key of a dotted setting.

    >>> key_of_setting("matching.sides_along")
    'match.sides_along'

    Raises
    ------
    EditError
        If a cover has no such setting.
    """
    names: list[str] = []
    table: Table | None = COVER
    for part in setting.split("."):
        key = next((k for k in table.keys if (k.field or k.name) == part), None) if table is not None else None
        if key is None:
            raise EditError(f"a cover has no setting {setting[:60]!r}")
        names.append(key.name)
        table = key.table
    return ".".join(names)
