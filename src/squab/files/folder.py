"""Write a folder of results whole, or not at all."""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

from squab.errors import FolderError

MARKER = ".made-by-squab"
_MARKER_TEXT = b"This folder is written by squab, and replaced whole when it is made again.\n"


def write_folder(target: Path, files: Mapping[str, bytes]) -> None:
    """Write `files` (name within the folder to bytes) as the folder `target`.

    Everything is written to a folder beside it first and swapped in when complete, so a failure
    leaves the old folder as it was. Only a folder that this function made is replaced.

    Raises
    ------
    FolderError
        If the target is a folder of the maker's own, or a file; if a name leads outside it; if
        the disk is full or may not be written.
    """
    target = Path(os.path.abspath(target))
    check_folder(target)
    names = {name: _inside(name, target) for name in files}
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        fresh = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=target.parent))
    except OSError as error:
        raise FolderError(target, _why(error), "nothing was changed; choose a folder that can be written") from error
    try:
        _fill(fresh, {names[n]: data for n, data in files.items()})
        _swap(fresh, target)
    except (OSError, ValueError) as error:
        raise FolderError(target, _why(error), _way_out(error)) from error
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def check_folder(target: Path) -> None:
    """See, before the long work, whether a folder may be written or replaced; nothing is changed.

    Raises
    ------
    FolderError
        As `write_folder` would, as far as it can be known beforehand.
    """
    target = Path(os.path.abspath(target))
    if target.is_symlink() or (target.exists() and not target.is_dir()):
        raise FolderError(target, "it is not a folder", "choose another name")
    if target.is_dir() and not (target / MARKER).is_file() and any(target.iterdir()):
        raise FolderError(target, "it holds things that squab did not make", "choose a new or an empty folder")

    above = next(p for p in target.parents if p.exists())
    if not above.is_dir():
        raise FolderError(target, f"{above} is a file, not a folder", "nothing was changed; choose another place")
    if not os.access(above, os.W_OK | os.X_OK, effective_ids=os.access in os.supports_effective_ids):
        raise FolderError(target, f"{above} may not be written", "nothing was changed; choose a folder that can be")


def _inside(name: str, target: Path) -> PurePosixPath:
    path = PurePosixPath(name)
    if not path.parts or path.is_absolute() or ".." in path.parts or "\\" in name or "\0" in name or name == MARKER:
        raise FolderError(target, f"the name {name!r} cannot stand in it", "use names within the folder")
    return path


def _fill(fresh: Path, files: Mapping[PurePosixPath, bytes]) -> None:
    for name, data in {**files, PurePosixPath(MARKER): _MARKER_TEXT}.items():
        path = fresh / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
    umask = os.umask(0)
    os.umask(umask)
    fresh.chmod(0o777 & ~umask)


def _swap(fresh: Path, target: Path) -> None:
    """Put the fresh folder in the target's place; if that fails, put the old one back."""
    if not target.exists():
        fresh.rename(target)
        return
    old = Path(tempfile.mkdtemp(prefix=f".{target.name}-old-", dir=target.parent))
    try:
        target.rename(old / "was")
        fresh.rename(target)
    except BaseException:  # Ctrl-C too: there is never a moment without the one folder or the other
        if not target.exists():
            (old / "was").rename(target)
        shutil.rmtree(old, ignore_errors=True)
        raise
    shutil.rmtree(old, ignore_errors=True)


def _way_out(error: OSError | ValueError) -> str:
    kept = "the old folder, if there was one, is as it was"
    if getattr(error, "errno", None) in (errno.ENOSPC, errno.EDQUOT):
        return f"make room on that disk, or choose a folder on another; {kept}"
    return kept


def _why(error: OSError | ValueError) -> str:
    return str(getattr(error, "strerror", None) or error).lower()
