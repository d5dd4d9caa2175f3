"""The use cases over a job's text: edit it by key path, read it, mend it, price it, vary it.

Values in, values out: nothing here knows of pages or of the store. The text is the job file exactly
as the command line takes it.
"""

from squab.desk.editing import appended, edited, removed, with_value
from squab.desk.reading import MOST_BYTES, Opened, brought_in, findings_by_path, opened
from squab.desk.tree import EditError

__all__ = [
    "MOST_BYTES",
    "EditError",
    "Opened",
    "appended",
    "brought_in",
    "edited",
    "findings_by_path",
    "opened",
    "removed",
    "with_value",
]
