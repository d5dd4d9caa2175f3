"""A folder of results is written whole, or not at all."""

from __future__ import annotations

import errno
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from squab.errors import FolderError, SquabError
from squab.files.folder import MARKER, check_folder, write_folder


def _inside(target: Path) -> dict[str, bytes]:
    return {
        p.relative_to(target).as_posix(): p.read_bytes() for p in target.rglob("*") if p.is_file() and p.name != MARKER
    }


def test_files_are_written_and_replaced_whole(tmp_path: Path) -> None:
    """The second making leaves nothing of the first, and nothing beside the folder."""
    target = tmp_path / "new" / "job"
    write_folder(target, {"index.html": b"one", "sheets/cut.pdf": b"two"})
    assert _inside(target) == {"index.html": b"one", "sheets/cut.pdf": b"two"}
    write_folder(target, {"index.html": b"three"})
    assert _inside(target) == {"index.html": b"three"}
    assert [p.name for p in target.parent.iterdir()] == ["job"]


def test_a_folder_of_the_makers_own_is_not_replaced(tmp_path: Path) -> None:
    """It says so, and what to do."""
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "dear.txt").write_text("keep")
    with pytest.raises(FolderError, match="did not make") as caught:
        write_folder(tmp_path / "letters", {"a": b"b"})
    assert isinstance(caught.value, SquabError)
    assert isinstance(caught.value, OSError)
    assert "hint: choose a new or an empty folder" in str(caught.value)
    assert [p.name for p in tmp_path.rglob("*")] == ["letters", "dear.txt"]


def test_an_empty_folder_is_taken(tmp_path: Path) -> None:
    """A folder made for the purpose."""
    (tmp_path / "out").mkdir()
    write_folder(tmp_path / "out", {"a": b"b"})
    assert _inside(tmp_path / "out") == {"a": b"b"}


@pytest.mark.parametrize("kind", ["file", "link"])
def test_what_is_no_folder_is_left_alone(tmp_path: Path, kind: str) -> None:
    """A file, or a link to elsewhere."""
    target = tmp_path / "out"
    if kind == "file":
        target.write_text("mine")
    else:
        (tmp_path / "elsewhere").mkdir()
        target.symlink_to(tmp_path / "elsewhere")
    with pytest.raises(FolderError, match="not a folder"):
        write_folder(target, {"a": b"b"})
    assert target.is_symlink() == (kind == "link")


@pytest.mark.parametrize("name", ["../a", "/etc/a", "", ".", "a/../../b", "a\\b", MARKER, "a\0b"])
def test_names_stay_inside(tmp_path: Path, name: str) -> None:
    """Nothing is written outside the folder."""
    with pytest.raises(FolderError, match="cannot stand in it"):
        write_folder(tmp_path / "out", {"fine": b"", name: b"b"})
    assert list(tmp_path.iterdir()) == []


def test_a_full_disk_leaves_the_old_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No space left half-way through: the old one is as it was, with nothing beside it."""
    target = tmp_path / "job"
    write_folder(target, {"a": b"old"})
    written: list[int] = []

    def full(descriptor: int) -> None:
        written.append(descriptor)
        if len(written) == 2:
            raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(FolderError, match="no space left") as caught:
        write_folder(target, {"a": b"new", "b": b"new"})
    assert "make room on that disk" in str(caught.value)
    assert "as it was" in str(caught.value)
    assert _inside(target) == {"a": b"old"}
    assert [p.name for p in tmp_path.iterdir()] == ["job"]


def test_a_failed_swap_puts_the_old_folder_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The last moment at which it can fail."""
    target = tmp_path / "job"
    write_folder(target, {"a": b"old"})
    rename = Path.rename

    def once(self: Path, to: Path) -> Path:
        if Path(to) == target and self.name != "was":
            raise OSError(errno.EACCES, "Permission denied")
        return rename(self, to)

    monkeypatch.setattr(Path, "rename", once)
    with pytest.raises(FolderError, match="permission denied"):
        write_folder(target, {"a": b"new"})
    assert _inside(target) == {"a": b"old"}
    assert [p.name for p in tmp_path.iterdir()] == ["job"]


def test_a_stopped_writing_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C between two files."""
    target = tmp_path / "job"
    write_folder(target, {"a": b"old"})

    def stop(descriptor: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("os.fsync", stop)
    with pytest.raises(KeyboardInterrupt):
        write_folder(target, {"a": b"new"})
    assert _inside(target) == {"a": b"old"}
    assert [p.name for p in tmp_path.iterdir()] == ["job"]


def test_a_stop_between_the_old_folder_and_the_new_puts_the_old_one_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C in the one moment in which the old folder is out of its place."""
    target = tmp_path / "job"
    write_folder(target, {"a": b"old"})
    rename = Path.rename

    def stopped(self: Path, to: Path) -> Path:
        if Path(to) == target and self.name != "was":
            raise KeyboardInterrupt
        return rename(self, to)

    monkeypatch.setattr(Path, "rename", stopped)
    with pytest.raises(KeyboardInterrupt):
        write_folder(target, {"a": b"new"})
    assert _inside(target) == {"a": b"old"}
    assert [p.name for p in tmp_path.iterdir()] == ["job"]


def test_a_place_is_looked_at_before_the_long_work(tmp_path: Path) -> None:
    """A file in the way, or a folder of the maker's own, is told at once and nothing is made."""
    (tmp_path / "letter").write_text("mine")
    with pytest.raises(FolderError, match="letter is a file, not a folder"):
        check_folder(tmp_path / "letter" / "deep" / "job")
    with pytest.raises(FolderError, match="did not make"):
        check_folder(tmp_path)
    check_folder(tmp_path / "new" / "job")
    assert [p.name for p in tmp_path.rglob("*")] == ["letter"]


def test_a_folder_that_may_not_be_written_is_refused_and_nothing_left() -> None:
    """Run as a user who may not write there: root may write anywhere, so a child process steps down first."""
    script = (
        "import os, sys\nfrom pathlib import Path\n"
        "from squab.files.folder import write_folder\nfrom squab import cli\n"
        "def folder_only():\n    write_folder(Path(sys.argv[1]), {'a.txt': b'a'})\n"
        "cli.app = folder_only\n"
        "os.geteuid() == 0 and os.seteuid(65534)\n"
        "cli.main()\n"
    )
    with tempfile.TemporaryDirectory() as closed:
        Path(closed).chmod(0o555)
        target = str(Path(closed) / "out")
        ran = subprocess.run([sys.executable, "-c", script, target], capture_output=True, text=True, check=False)
        left = list(Path(closed).iterdir())
    assert ran.returncode == 2
    assert "may not be written" in ran.stderr
    assert "nothing was changed; choose a folder that can be" in ran.stderr
    assert "Traceback" not in ran.stderr
    assert left == []
