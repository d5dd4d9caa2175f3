"""What a page is told of a job's text: what was typed, and what was found beside which field."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from squab.desk import brought_in, edited, opened, reading, removed
from squab.desk.tree import key_of
from squab.files.lines import place_of
from squab.findings import Severity

EXAMPLES = Path(__file__).parents[2] / "examples"
BAY = (EXAMPLES / "bay-window.toml").read_text(encoding="utf-8")


def test_every_value_is_shown_as_it_was_typed() -> None:
    """Fractions, trailing noughts, lists and truths; a bare value also at the key it is short for."""
    text = (
        '[job]\nunits = "in"\ncustomer = "Mr <b>"\ndate = 2031-03-10\n[[cloth]]\nid = "a"\nusable_width = 54.50\n'
        'stripes = ["indigo 1 1/2", { name = "edge", colour = "sage", width = 2 }]\n'
        '[[cushion]]\nwidth = "24 3/"\ncount = 3\nhidden = []\nturned_over = true\npiping = "top"\n'
        'radius = { "front left" = "1/2" }\n'
    )
    typed = opened(text, check=False).typed
    assert typed["cloth[0].usable_width"] == "54.50"
    assert typed["cloth[0].stripes"] == "indigo 1 1/2\nedge sage 2"
    assert typed["cushion[0].width"] == "24 3/"
    assert typed["cushion[0].count"] == "3"
    assert typed["cushion[0].hidden"] == "none"
    assert typed["cushion[0].turned_over"] == "true"
    assert typed["cushion[0].piping"] == typed["cushion[0].piping.edges"] == "top"
    assert typed["job.customer.name"] == "Mr <b>"
    assert typed["job.date"] == "2031-03-10"
    assert typed['cushion[0].radius."front left"'] == "1/2"


@pytest.mark.parametrize("example", sorted(EXAMPLES.glob("*.toml")), ids=lambda p: p.stem)
def test_typing_what_is_shown_changes_nothing(example: Path) -> None:
    """Every field of every example, typed again as it is shown, leaves the job as it was."""
    text = example.read_text(encoding="utf-8")
    now = opened(text, check=False)
    for path, shown in now.typed.items():
        again = edited(text, path, shown)
        assert again == text or opened(again, check=False).job == now.job, path


def test_findings_stand_at_their_fields() -> None:
    """A half-typed value, a missing key, an unsaid size: each at its key."""
    text = edited(edited(BAY, "cushion[1].front", "24 3/"), "cushion[2].depth", "")
    now = opened(text)
    assert now.job is None
    (half,) = now.at("cushion[1].front")
    assert half.severity is Severity.STOP
    assert "^" in half.message
    assert text.split("\n")[(half.line or 0) - 1] == 'front = "24 3/"'
    (missing,) = now.at("cushion[2].depth")
    assert missing.code == "JOB-015"
    assert opened(edited(BAY, "job.size_is", "")).at("job.size_is")[0].code == "JOB-027"


def test_what_later_stages_find_goes_to_the_cushion_or_cover_it_is_about() -> None:
    """A thin boxing is told at the zip's tape: in the cushion that gives it, else in the make of cover."""
    thin = edited(BAY, "cushion[0].thickness", "20")
    now = opened(thin)
    assert "CON-010" in {f.code for f in now.at("cover.zip.tape")}
    own = opened(edited(thin, "cushion[0].zip.tape", "30"))
    assert "CON-010" in {f.code for f in own.at("cushion[0].zip.tape")}
    assert {f.code for f in own.under("cushion[0]")} >= {"CON-010"}
    assert own.at("cushion[1].zip.tape") == ()


def test_a_roll_out_of_true_is_told_at_its_cloth() -> None:
    """Found while matching a cushion, but it is the bolt that is to be measured again."""
    skewed = edited(BAY, "cloth[0].bolt.skew", "40")
    skewed = edited(removed(skewed, "cushion[1].match"), "cloth[0].stripes_run", "across")
    assert "MAT-010" in {f.code for f in opened(skewed).at("cloth[0].bolt.skew")}
    second = "[[cloth]]\nid = 'plain'\nusable_width = 1400\n" + skewed
    named = edited(second, "cover.panel_cloth", "ticking")
    assert "MAT-010" in {f.code for f in opened(named).at("cloth[1].bolt.skew")}


def test_every_finding_has_its_place_once() -> None:
    for example in EXAMPLES.glob("*.toml"):
        now = opened(example.read_text(encoding="utf-8"))
        assert sum(len(f) for f in now.by_path.values()) == len(now.findings)
        assert "" not in now.by_path


def test_every_key_that_findings_are_sorted_to_is_one() -> None:
    """And every finding of making the cover has one, but for those about a cushion as a whole."""
    for key in reading._KEY_OF.values():
        assert key_of(place_of(f"cushion[0].{key}")) is not None, key
    for key in reading._CLOTH_KEY_OF.values():
        assert key_of(place_of(f"cloth[0].{key}")) is not None, key
    for path in reading._ELSEWHERE.values():
        assert key_of(place_of(path)) is not None, path
    documented = set(re.findall(r"(?:CON|MAT)-\d{3}", (EXAMPLES.parent / "docs" / "findings.md").read_text()))
    whole = {"CON-001", "CON-002", "CON-051", "CON-090", "MAT-010"}
    assert documented - set(reading._KEY_OF) == whole


def test_a_text_that_is_no_toml_has_one_finding_and_no_fields() -> None:
    now = opened('[job]\nname = "a\n')
    assert now.job is None
    assert now.typed == {}
    (finding,) = now.at("")
    assert (finding.code, finding.line) == ("JOB-004", 2)


def test_counts() -> None:
    now = opened(BAY, check=False)
    assert (now.count("cushion"), now.count("cloth"), now.count("cloth[0].stripes"), now.count("cushion[0].run")) == (
        3, 1, 4, 0,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("data", "code", "said"),
    [
        (b"", "JOB-001", "empty"),
        (b"\x89PNG\r\n\x1a\n\xff\xfe", "JOB-002", "not UTF-8"),
        (b"x" * 9_000_000, "JOB-003", "9 MB; a job file may have 8 MB"),
        (b"dear customer,\nplease", "JOB-004", ""),
        (b"[project]\nname = 'x'\n[tool.a]\n", "JOB-015", "it holds project, tool, and neither a cushion nor a cloth"),
        (b"{}", "JOB-004", ""),
        (b"[" * 100_000, "JOB-004", ""),
    ],
)
def test_what_is_no_job_file_is_refused_with_a_way_out(data: bytes, code: str, said: str) -> None:
    outcome = brought_in(data, name="upload.toml")
    assert outcome.value is None
    assert outcome.findings[0].code == code
    assert said in outcome.findings[0].message
    assert outcome.findings[0].hint


def test_an_unfinished_job_file_comes_in_whole() -> None:
    data = b'\xef\xbb\xbf[[cushion]]\r\nwidth = "24 3/"\r\n'
    assert brought_in(data).value == data.decode()
