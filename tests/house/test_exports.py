"""What the package exports is there."""

from __future__ import annotations

import subprocess
import sys

import squab


def test_every_exported_name_is_there() -> None:
    """Each name of `squab.__all__` comes from its home."""
    for name in squab.__all__:
        assert getattr(squab, name) is not None


def test_importing_squab_is_quick_work() -> None:
    """`import squab` brings no heavy library with it."""
    code = "import squab, sys; print([m for m in ('numpy', 'ortools', 'typst', 'ezdxf', 'numba') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_an_estimate_brings_no_solver() -> None:
    """The quick answer never imports a solver, the typesetter or the drawing exchange library."""
    code = (
        "import squab.rough, sys;"
        "print([m for m in ('ortools', 'highspy', 'typst', 'ezdxf', 'numba', 'scipy') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
