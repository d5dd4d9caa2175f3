#!/usr/bin/env python3
"""Set up Squab and run it, with nothing but Python 3.11 or newer.

    python run.py demo      make the largest example into the folder made/bay-window
    python run.py serve     open the workroom in the browser
    python run.py test      run the tests
    python run.py lint      format check, lint, strict types, import contract
    python run.py bench     what each stage costs, on every example
    python run.py lock      write the hashed requirement files anew
    python run.py setup     only set up

The environment lives in .venv beside this file and is brought up to date when the requirement
files change. Further words are passed on: `python run.py test tests/unit -k notch`.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

from tests.chromium import WANTED, chromium_path

HERE = Path(__file__).resolve().parent
ENV = HERE / ".venv"
BIN = ENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
UV = BIN / ("uv.exe" if os.name == "nt" else "uv")
STAMP = ENV / ".squab-setup"
USER_FILES = ("requirements.txt",)
ALL_FILES = ("requirements.txt", "requirements-dev.txt")
COMPILED = [
    "squab.lay._kernel", "squab.lay._apart", "squab.lay._niches", "squab.lay._beam", "squab.cli", "squab.rough",
    "squab.stages", "squab.draw.sheets", "squab.draw.dxf",
    "squab.draw.patterns", "squab.draw.summary", "squab.files.folder", "squab.files.jobfile", "ezdxf",
]  # fmt: skip
"""What a job imports: compiled at set-up, so that the first command starts as fast as any."""


def call(*command: str | Path) -> None:
    """Run a command in the project's folder; leave with its code if it fails."""
    done = subprocess.run([str(c) for c in command], cwd=HERE, env={**os.environ, "UV_PYTHON_DOWNLOADS": "never"})
    if done.returncode:
        sys.exit(done.returncode)


def fingerprint(names: tuple[str, ...]) -> str:
    """Digest what the environment was made from."""
    digest = hashlib.sha256(sys.version.encode())
    for name in (*names, "pyproject.toml"):
        digest.update((HERE / name).read_bytes())
    return digest.hexdigest()


def make_environment() -> None:
    """Make .venv with the installer in it, if it is not there."""
    if not PYTHON.exists():
        print("making .venv", flush=True)
        venv.create(ENV, with_pip=True)
    if not UV.exists():
        call(PYTHON, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "uv")


def set_up(names: tuple[str, ...]) -> None:
    """Bring .venv up to date with the hashed requirement files, and install Squab in it."""
    wanted = fingerprint(names)
    have = STAMP.read_text().split() if STAMP.exists() else []
    if wanted in have:
        return
    make_environment()
    files = [arg for name in names for arg in ("-r", HERE / name)]
    print("installing what Squab needs", flush=True)
    call(UV, "pip", "install", "--quiet", "--python", PYTHON, "--require-hashes", *files)
    call(UV, "pip", "install", "--quiet", "--python", PYTHON, "--no-deps", "-e", HERE)
    print("compiling the search and the modules, once", flush=True)
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    call(PYTHON, "-c", f"import {', '.join(COMPILED)}")
    known = {fingerprint(USER_FILES), wanted} if names == ALL_FILES else {wanted}
    STAMP.write_text("\n".join(sorted(known)))


def bundle(*words: str) -> None:
    """Make the bundle that the browser runs, under a stamp of its own; node comes from the PATH or is installed."""
    if not (shutil.which("node") and shutil.which("npm")):
        call(
            UV,
            "pip",
            "install",
            "--quiet",
            "--python",
            PYTHON,
            "--require-hashes",
            "-r",
            HERE / "requirements-build.txt",
        )
    call(PYTHON, HERE / "browser" / "bundle.py", *words)


def find_chromium() -> None:
    """See that there is a browser for the tests: brought by the system's own packages where we may, else told."""
    if chromium_path() is not None:
        return
    if shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0:
        print("installing Chromium for the tests of the workroom", flush=True)
        quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        for words in (["update", "-qq"], ["install", "-y", "-qq", "--no-install-recommends", "chromium"]):
            subprocess.run(["apt-get", *words], env=quiet, stdout=subprocess.DEVNULL)
    if chromium_path() is None:
        print(f"{WANTED}\n{'They fail' if os.environ.get('CI') else 'They are skipped'}.", file=sys.stderr, flush=True)


def lock() -> None:
    """Write the requirement files: every version and hash, no address."""
    make_environment()
    common = ("--quiet", "--no-emit-project", "--no-header", "--no-annotate", "--project", str(HERE))
    call(UV, "lock", "--quiet", "--python", PYTHON, "--project", HERE)
    call(UV, "export", *common, "--no-dev", "-o", HERE / "requirements.txt")
    call(UV, "export", *common, "--only-dev", "-o", HERE / "requirements-dev.txt")
    call(UV, "export", *common, "--only-group", "build", "-o", HERE / "requirements-build.txt")


def lint() -> None:
    """Format, lint, strict types, import contract."""
    set_up(ALL_FILES)
    bundle("--check")
    call(BIN / "ruff", "format", "--check", ".")
    call(BIN / "ruff", "check", ".")
    call(BIN / "mypy")
    call(BIN / "lint-imports")


def main(words: list[str]) -> None:
    """Do what the first word says."""
    what, rest = (words[0] if words else "help"), words[1:]
    if what == "setup":
        set_up(ALL_FILES)
        bundle()
    elif what == "demo":
        set_up(USER_FILES)
        call(PYTHON, "-m", "squab.cli", "make", "examples/bay-window.toml", "--into", "made/bay-window", *rest)
    elif what == "serve":
        set_up(USER_FILES)
        bundle()
        call(PYTHON, "-m", "squab.cli", "serve", *rest)
    elif what == "test":
        set_up(ALL_FILES)
        bundle()
        bundle("--packages")
        find_chromium()
        call(PYTHON, "-m", "pytest", *(rest or ["-n", "2", "--dist", "worksteal"]))
    elif what == "lint":
        lint()
    elif what == "bench":
        set_up(ALL_FILES)
        call(PYTHON, "-m", "benchmarks.job", *rest)
    elif what == "lock":
        lock()
    else:
        print(__doc__)
        sys.exit(0 if what in ("help", "--help", "-h") else 2)


if __name__ == "__main__":
    if sys.version_info < (3, 11):  # noqa: UP036 - said plainly before anything else can fail
        sys.exit(f"Squab needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    main(sys.argv[1:])
