"""The use cases over a job's text: edit it by key path, read it, mend it, price it, vary it.

Values in, values out: nothing here knows of pages or of the store. The text is the job file exactly
as the command line takes it.
"""

from squab.desk.carrying import unit_of, with_units
from squab.desk.comparing import (
    Variant,
    VariantFigures,
    agreed_figures,
    differences,
    figures_of,
    made_otherwise,
    variant_figures,
    varied,
)
from squab.desk.editing import amount_of, appended, edited, removed, with_value
from squab.desk.house import (
    from_shelf,
    new_shelf_cloth,
    onto_shelf,
    opened_house,
    opened_shelf_cloth,
    without_lost_pins,
)
from squab.desk.making import new_job, patterned, renamed_cloth, shelf_cloth, with_cloth, with_cushion
from squab.desk.mending import cured, cures_of, expected_bolt, surrendered, with_bolt, with_flaw, with_settings
from squab.desk.reading import MOST_BYTES, Opened, brought_in, findings_by_path, opened, typed_in
from squab.desk.tree import EditError

__all__ = [
    "MOST_BYTES",
    "EditError",
    "Opened",
    "Variant",
    "VariantFigures",
    "agreed_figures",
    "amount_of",
    "appended",
    "brought_in",
    "cured",
    "cures_of",
    "differences",
    "edited",
    "expected_bolt",
    "figures_of",
    "findings_by_path",
    "from_shelf",
    "made_otherwise",
    "new_job",
    "new_shelf_cloth",
    "onto_shelf",
    "opened",
    "opened_house",
    "opened_shelf_cloth",
    "patterned",
    "removed",
    "renamed_cloth",
    "shelf_cloth",
    "surrendered",
    "typed_in",
    "unit_of",
    "variant_figures",
    "varied",
    "with_bolt",
    "with_cloth",
    "with_cushion",
    "with_flaw",
    "with_settings",
    "with_units",
    "with_value",
    "without_lost_pins",
]
