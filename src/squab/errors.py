"""The errors Squab raises when it is used wrongly.

    SquabError
    ├── LengthError   (also ValueError)  a text that is no length
    ├── OutlineError  (also ValueError)  edges that make no closed outline
    ├── LayError      (also ValueError)  a lay problem that is not well formed
    └── FolderError   (also OSError)     a folder of results that cannot be written

What is wrong with a customer's *job* is never raised: it is collected as findings
(`squab.findings`), so that one pass tells everything.
"""

from __future__ import annotations


class SquabError(Exception):
    """The root of every error that Squab raises on purpose."""


class LengthError(SquabError, ValueError):
    """A text that does not read as a length.

    `text` is what was given and `at` the index of its first wrong character.
    """

    def __init__(self, text: str, at: int, reason: str) -> None:
        self.text = text
        self.at = at
        self.reason = reason
        shown = text.replace("\t", " ").replace("\n", " ")
        super().__init__(f"{reason}\n  {shown}\n  {' ' * at}^")


class OutlineError(SquabError, ValueError):
    """Edges that do not make one closed, simple outline."""


class LayError(SquabError, ValueError):
    """A lay problem that is not well formed: a width of nothing, a piece without area."""


class FolderError(SquabError, OSError):
    """A folder that cannot be written, or may not be replaced.

    `folder` is the one that was asked for; the message says why and what to do instead.
    """

    def __init__(self, folder: object, reason: str, hint: str) -> None:
        self.folder = folder
        self.reason = reason
        self.hint = hint
        super().__init__(f"{folder}: {reason}\n  hint: {hint}")
