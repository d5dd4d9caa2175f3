"""Laws of the keep and of the desk: whatever is done in whatever order, nothing answered is lost."""

from __future__ import annotations

import shutil
import tempfile
import tomllib
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from squab.desk import EditError, edited, opened
from squab.desk.tree import key_of
from squab.files.keys import CLOTH, COVER, CUSHION, JOB, PRICES, Key, Table
from squab.files.lines import place_of
from squab.keep import AlreadyAgreed, Arrival, NotArrived, Stale, open_keep
from tests.laws.draws import draws

EXAMPLES = [p.read_text(encoding="utf-8") for p in sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))]
WORDS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=40)
BEGUN = datetime(2031, 3, 10, 9, tzinfo=UTC)


@cache
def empty_keep() -> tempfile.TemporaryDirectory[str]:
    """The folder of a keep with nothing in it: made once, copied for every run."""
    folder = tempfile.TemporaryDirectory()
    open_keep(Path(folder.name), clock=lambda: BEGUN).close()
    return folder


class TwoTabs(RuleBasedStateMachine):
    """Two tabs on one job, a clock that moves, a keep that is closed and opened again."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        shutil.copytree(empty_keep().name, self.folder.name, dirs_exist_ok=True)
        self.now = BEGUN
        self.keep = open_keep(Path(self.folder.name), clock=lambda: self.now)
        job = self.keep.add_job("# begun\n")
        self.id = job.id
        self.seen = [(job.version, job.text)] * 2
        self.answered = [(1, "# begun\n", BEGUN)]
        self.agreed: tuple[dict[str, str], int] | None = None
        self.ticked: dict[str, str] = {}
        self.arrived = False

    def teardown(self) -> None:
        """Close and forget."""
        self.keep.close()
        self.folder.cleanup()

    @rule(seconds=st.sampled_from([1, 50, 119, 200]))
    def time_passes(self, seconds: int) -> None:
        """Time passes."""
        self.now += timedelta(seconds=seconds)

    @rule(tab=st.integers(0, 1), more=WORDS)
    def save(self, tab: int, more: str) -> None:
        """A tab saves what it sees with something more."""
        version, text = self.seen[tab]
        newest, stale = self.answered[-1], None
        try:
            record = self.keep.save_job(self.id, text + more, version)
        except Stale as refused:
            stale = refused
        if stale is not None:
            assert version != newest[0]
            assert (stale.newer.version, stale.newer.text) == newest[:2]
            self.seen[tab] = newest[:2]
            return
        assert version == newest[0] or text + more == newest[1]
        self._answered(record.version, record.text)
        self.seen[tab] = (record.version, record.text)
        assert record.text == text + more

    @rule(data=st.data())
    def restore(self, data: st.DataObject) -> None:
        """Someone goes back."""
        version = data.draw(st.sampled_from(self.keep.history(self.id))).version
        before = self.keep.text_at(self.id, version)
        record = self.keep.restore(self.id, version)
        assert record.text == before
        self._answered(record.version, record.text)

    @rule(total=st.integers(1, 999), anew=st.booleans())
    def agree(self, total: int, anew: bool) -> None:
        """A price is agreed."""
        try:
            self.keep.agree(self.id, {"total": str(total)}, anew=anew)
        except AlreadyAgreed:
            assert self.agreed is not None
            assert not anew
            return
        self.agreed = ({"total": str(total)}, self.answered[-1][0])

    @rule()
    def arrive(self) -> None:
        """The cloth comes and is checked."""
        self.keep.set_arrival(self.id, Arrival(cloth="cloth", width="1", repeat_along="1", stripe_at="0", face="f",
                                               pile="none", flaws=(), lot="1", shade="s"))  # fmt: skip
        self.arrived = True

    @rule(piece=st.sampled_from("abc"), state=st.sampled_from(["done", "spoiled"]))
    def tick(self, piece: str, state: Any) -> None:
        """A piece is ticked."""
        try:
            self.keep.tick(self.id, piece, state, of=3)
        except NotArrived:
            assert not self.arrived
            return
        assert self.arrived
        self.ticked[piece] = state

    @rule(piece=st.sampled_from("abc"))
    def untick(self, piece: str) -> None:
        """A tick is taken back."""
        self.keep.untick(self.id, piece)
        self.ticked.pop(piece, None)

    @precondition(lambda self: len(self.answered) > 2)
    @rule()
    def closed_and_opened(self) -> None:
        """The program is closed and started again."""
        self.keep.close()
        self.keep = open_keep(Path(self.folder.name), clock=lambda: self.now)

    def _answered(self, version: int, text: str) -> None:
        if version != self.answered[-1][0]:
            assert version == self.answered[-1][0] + 1
            self.answered.append((version, text, self.now))

    @invariant()
    def what_was_answered_is_there(self) -> None:
        """The newest text is the last answered; agreed figures and ticks are as they were given."""
        job = self.keep.job(self.id)
        assert (job.version, job.text) == self.answered[-1][:2]
        found = None if job.agreed is None else (dict(job.agreed.figures), job.agreed.version)
        assert found == self.agreed
        assert {k: t.state for k, t in self.keep.ticks(self.id).items()} == self.ticked

    @invariant()
    def the_history_leaves_out_no_more_than_two_minutes(self) -> None:
        """Every version in it is one that was answered; of those left out, the next that is kept came soon after."""
        texts = {v: (text, at) for v, text, at in self.answered}
        kept = [v.version for v in reversed(self.keep.history(self.id))]
        assert kept[-1] == self.answered[-1][0]
        for version in kept:
            assert self.keep.text_at(self.id, version) == texts[version][0]
        for version, (_, at) in texts.items():
            after = next(k for k in kept if k >= version)
            assert texts[after][1] - at <= timedelta(minutes=2)
        if self.agreed is not None:
            assert self.agreed[1] in kept


TwoTabs.TestCase.settings = settings(max_examples=draws(12), stateful_step_count=25, deadline=None)
TestTwoTabs = TwoTabs.TestCase


# --- editing ---


def _leaves(table: Table, head: str) -> list[tuple[str, Key]]:
    """Every key of a table that one can type at, by its path."""
    found = []
    for key in table.keys:
        path = f"{head}.{key.name}"
        if key.kind == "table" and key.table is not None and key.table.open_kind is None:
            found += _leaves(key.table, path)
        if key.kind not in ("tables", "lines") and (key.kind != "table" or key.short):
            found.append((path, key))
    return found


PATHS = [
    *_leaves(JOB, "job"), *_leaves(COVER, "cover"), *_leaves(PRICES, "prices"),
    *(leaf for n in range(2) for leaf in _leaves(CUSHION, f"cushion[{n}]")), *_leaves(CLOTH, "cloth[0]"),
]  # fmt: skip
TYPED = st.one_of(
    st.sampled_from(
        ["24", "24 3/4", "24 3/", "0", "-3", "1e5", "true", "none", "2031-03-10", "a, b", "indigo 4", "both"]
    ),
    WORDS,
)


@settings(max_examples=draws(60), deadline=None)
@given(text=st.sampled_from(EXAMPLES), edits=st.lists(st.tuples(st.sampled_from(PATHS), TYPED), min_size=1, max_size=4))
def test_an_edit_changes_what_it_names_and_nothing_else(text: str, edits: list[tuple[tuple[str, Key], str]]) -> None:
    """What was typed stands there and is shown again; every other value, and every other cushion's text, stays."""
    for (path, _), typed in edits:
        place = place_of(path)
        if place[0] == "cushion" and place[1] >= text.count("[[cushion]]"):  # type: ignore[operator]
            continue
        before = opened(text, check=False)
        try:
            after = edited(text, path, typed)
        except EditError:
            assert key_of(place) is not None
            raise
        now = opened(after, check=False)
        _stays(before.raw, now.raw, place)
        if typed.strip() and key_of(place).kind == "text":  # type: ignore[union-attr]
            assert now.typed[path] == (typed if place[-1] == "notes" else typed.strip()) or "\r" in typed
        if not typed.strip():
            assert path not in now.typed
        if now.typed.get(path, "").strip():
            assert edited(after, path, now.typed[path]) == after
        for n, block in enumerate(text.split("[[cushion]]")[1:]):
            if place[:2] != ("cushion", n) and n < text.count("[[cushion]]") - 1:
                assert block in after
        text = after


def _stays(before: Any, after: Any, place: tuple[str | int, ...]) -> None:
    """Everything but what is at a place, and the tables on the way to it, is as it was."""
    if not place or not isinstance(before, (dict, list)) or not isinstance(after, (dict, list)):
        return
    head = place[0]
    if isinstance(before, list):
        assert isinstance(after, list)
        assert len(before) == len(after)
        for n, (b, a) in enumerate(zip(before, after, strict=True)):
            if n == head:
                _stays(b, a, place[1:])
            else:
                assert b == a
        return
    assert isinstance(after, dict)
    assert {k: v for k, v in before.items() if k != head} == {k: v for k, v in after.items() if k != head}
    if head in before and head in after:
        _stays(before[head], after[head], place[1:])


@settings(max_examples=draws(60), deadline=None)
@given(WORDS)
def test_any_text_typed_as_a_name_comes_back(name: str) -> None:
    """Quotes, backslashes, control characters, line breaks: what is typed is what is read."""
    made = edited(EXAMPLES[0], "job.notes", name)
    if name.strip():
        assert tomllib.loads(made)["job"]["notes"] == name.replace("\r\n", "\n").replace("\r", "\n")
