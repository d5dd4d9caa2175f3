"""A general-purpose packer of outlines on plain cloth, asked for a lay that pressing then goes on from.

It knows no pattern and no flaw, and cannot be stopped, so it runs in a process of its own: that one
writes each shorter lay as it is found, and is ended when its time is up. Where it is missing or
fails there is no lay of it, and the search stands without.

Frames: the packer's strip runs to the right and its height is the cloth's width, so the cloth is
given to it a quarter turn clockwise, x = v and y = -u. Outlines are given with half the gap
about them already, so the strip is a gap wider than the cloth, from half a gap beyond its right edge.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
import time
from contextlib import suppress
from typing import TYPE_CHECKING, Any, Self

import numpy as np

if TYPE_CHECKING:
    from squab.lay._press import Table

POLL_S = 0.05
END_S = 5.0
"""An ended process is waited for no longer than this."""


class Packer:
    """The packer at work on the pieces of a table; `lay` is its best so far.

    Parameters
    ----------
    table
        Pieces at their turns, plain and free; parts of strips are pieces like others.
    seconds
        How long it may take at the most; `end` ends it before.
    """

    def __init__(self, table: Table, *, seconds: float, seed: int) -> None:
        self._table = table
        self._best: list[Any] | None = None
        self._process: subprocess.Popen[str] | None = None
        self._reader: threading.Thread | None = None
        self._rows: list[list[int]] = []
        try:
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-m", __name__], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL, text=True,
            )  # fmt: skip
            assert self._process.stdin is not None
            self._process.stdin.write(json.dumps(self._asked(seconds, seed)) + "\n")
            self._process.stdin.flush()
        except OSError:
            self.end()
            return
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.end()

    @property
    def works(self) -> bool:
        """Tell whether it is still at work."""
        return self._process is not None and self._process.poll() is None

    def wait(self, seconds: float) -> None:
        """Wait until it has ended by itself, but no longer than so many seconds."""
        if self._process is not None:
            with suppress(subprocess.TimeoutExpired):
                self._process.wait(seconds)

    def end(self) -> None:
        """End it; the best lay so far stays."""
        process = self._process
        if process is None:
            return
        process.kill()
        with suppress(subprocess.TimeoutExpired):
            process.wait(END_S)
        if self._reader is not None:
            self._reader.join(END_S)
        for pipe in (process.stdin, process.stdout):
            assert pipe is not None
            with suppress(OSError):
                pipe.close()
        self._process = None

    def lay(self) -> tuple[float, Any, Any] | None:
        """The best so far: length, places (pieces, 2) and turns by number; None where there is none.

        It is as sound as the packer works: neighbours may be a little in one another.
        """
        best = self._best
        if best is None:
            return None
        table, half = self._table, self._table.half
        width = float(table.model.problem.usable_width_mm)
        places, modes = np.zeros((len(table.items), 2)), np.zeros(len(table.items), dtype=np.int64)
        rows = [iter(r) for r in self._rows]
        for kind, turn, x, y in best:
            row = next(rows[kind])
            turns = self._turns(row)
            modes[row] = int(np.argmin([abs((t - turn + 180.0) % 360.0 - 180.0) for t in turns]))
            low = _turned(table.outline(row), float(turns[modes[row]])).min(axis=0)
            places[row] = np.array([width + half - y, x]) + low + half
        places[:, 1] -= places[:, 1].min()
        sizes = table.options[np.arange(len(modes)), modes, :2]
        return float((places[:, 1] + sizes[:, 1]).max()), places, modes

    def _turns(self, row: int) -> list[int]:
        """How a piece may be turned, from the first way on."""
        turns = self._table.model.turns[self._table.items[row]]
        return [(t - turns[0]) % 360 for t in turns]

    def _asked(self, seconds: float, seed: int) -> dict[str, Any]:
        """Pieces that are alike at all their turns are one kind, asked for so many times."""
        table = self._table
        alike: dict[tuple[int, ...], list[int]] = {}
        for row in range(len(table.items)):
            key = (int(table.shape_by[row, 0]), *self._turns(row))
            alike.setdefault(key, []).append(row)
        self._rows = list(alike.values())
        kinds = []
        for rows in self._rows:
            points = [(float(v), -float(u)) for u, v in table.outline(rows[0])]
            kinds.append({"points": points, "count": len(rows), "turns": self._turns(rows[0])})
        # its time is in whole seconds; the end comes from here
        return {
            "height": float(table.model.problem.usable_width_mm) + 2 * table.half, "kinds": kinds,
            "seconds": int(seconds) + 1, "seed": seed,
        }  # fmt: skip

    def _read(self) -> None:
        assert self._process is not None
        assert self._process.stdout is not None
        try:
            for line in self._process.stdout:
                placed = json.loads(line)
                if len(placed) == sum(len(r) for r in self._rows):
                    self._best = placed
        except (ValueError, OSError):
            return  # ended in the middle of a line


def _turned(xy: Any, turn_deg: float) -> Any:
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    return np.column_stack((c * xy[:, 0] - s * xy[:, 1], s * xy[:, 0] + c * xy[:, 1]))


def main() -> None:
    """Pack what stdin asks for; each shorter lay is a line on stdout: (kind, turn, x, y) of every piece.

    Where stdin ends, whoever asked is gone, and so is this.
    """
    import spyrrow

    asked = json.loads(sys.stdin.readline())
    threading.Thread(target=lambda: (sys.stdin.read(), os._exit(0)), daemon=True).start()
    items = [
        spyrrow.Item(str(k), [tuple(p) for p in kind["points"]], kind["count"], [float(t) for t in kind["turns"]])
        for k, kind in enumerate(asked["kinds"])
    ]
    config = spyrrow.StripPackingConfig(
        early_termination=False, total_computation_time=asked["seconds"], num_workers=1, seed=asked["seed"]
    )
    found = spyrrow.ProgressQueue()
    instance = spyrrow.StripPackingInstance("cloth", asked["height"], items)
    packing = threading.Thread(target=instance.solve, args=(config, found), daemon=True)
    sound = [int(x) for x in (spyrrow.ReportType.ExplFeas, spyrrow.ReportType.CmprFeas, spyrrow.ReportType.Final)]
    packing.start()
    last = False
    while not last:
        last = not packing.is_alive()
        lays = [lay for kind, lay in found.drain() if int(kind) in sound]
        if lays:
            best = min(lays, key=lambda lay: lay.width)
            print(json.dumps([(int(p.id), p.rotation, *p.translation) for p in best.placed_items]), flush=True)
        time.sleep(0.0 if last else POLL_S)


if __name__ == "__main__":
    main()
