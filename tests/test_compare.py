"""``preflight check --compare``: what is fixed, what remains, what is new, and what is no earlier report."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from preflight.errors import UsageError
from preflight.model import ExitStatus, Measurement, Report, Severity, Verdict
from preflight.report import json as scripts
from preflight.report.compared import Compared, compared
from preflight.report.earlier import EARLIER, Against, Archive
from preflight.report.language import ENGLISH, Language
from tests.report.html.test_command import run
from tests.report.pdf.reading import tight, words
from tests.report.samples import finding, report, unread_report
from tests.views.made import clear, disc, paint, stroke

TITLES = {"thin-line": "Lines too thin to print"}


def archive(folder: Path, *reports: Report) -> Archive:
    path = folder / "old.json"
    path.write_text(scripts.document(reports), encoding="utf-8")
    return Archive(str(path))


def told(old: Report, new: Report, folder: Path, *, alone: bool = True, language: Language = ENGLISH) -> Compared:
    earlier = archive(folder, old).of(new, alone=alone)
    found = compared(replace(new, extra={EARLIER: Against(earlier, TITLES)}), language)
    assert found is not None
    return found


def other(made: Report, sha256: str = "cd" * 32, **more: Any) -> Report:
    return replace(made, sha256=sha256, **more)


def test_a_fault_that_is_gone_is_fixed(tmp_path: Path) -> None:
    new = other(report(Verdict.READY), findings=())
    assert told(report(), new, tmp_path).groups == (("Fixed", ("Lines too thin to print.",)),)


def test_a_fault_that_stayed_has_both_figures(tmp_path: Path) -> None:
    new = other(report(Verdict.ASK, replace(finding(), value=0.4, severity=Severity.ASK)))
    ((heading, lines),) = told(report(), new, tmp_path).groups
    assert heading == "Still there"
    assert lines == ("1. Title of thin-line. It was 0.21 mm and is now 0.4 mm. This was STOP, and is ASK now.",)
    ((_, lines),) = told(report(), other(report()), tmp_path).groups
    assert lines == ("1. Title of thin-line. It is 0.21 mm, as before.",)
    inches = told(report(), new, tmp_path, language=Language(inches=True))
    assert "in and is now" in inches.groups[0][1][0]


def test_a_fault_that_came_is_new_and_all_three_stand_together(tmp_path: Path) -> None:
    old = report(Verdict.STOP, finding(), finding("heavy-ink"))
    new = other(report(Verdict.STOP, finding("stray-specks"), finding("heavy-ink")))
    groups = dict(told(old, new, tmp_path).groups)
    assert groups["Fixed"] == ("Lines too thin to print.",)
    assert [line.split(".")[0] for line in groups["Still there"]] == ["2"]
    assert groups["New"] == ("1. Title of stray-specks.",)


def test_what_was_not_measured_is_not_called_fixed(tmp_path: Path) -> None:
    for measure in (
        Measurement("narrowest-line", None, "mm", why_not="there is no detail"),
        Measurement("narrowest-line", None, "mm", why_not="no size", applies=False),
    ):
        new = other(report(Verdict.UNCHECKED), findings=(), measures={"narrowest-line": measure})
        groups = dict(told(report(), new, tmp_path).groups)
        assert "Fixed" not in groups
        assert groups["Could not be compared, since it was not measured this time"] == ("Lines too thin to print.",)
    gone = other(report(Verdict.READY), findings=(), measures={})
    assert "Fixed" not in dict(told(report(), gone, tmp_path).groups)


def test_a_version_that_was_not_read_is_not_compared(tmp_path: Path) -> None:
    unread = replace(unread_report(), file="orders/badge.png")
    assert "could not be read" in told(report(), unread, tmp_path).lead
    assert told(report(), unread, tmp_path).groups == ()
    assert told(unread, report(), tmp_path).lead == "The earlier version could not be read. This one could."


def test_the_same_file_and_another_size_are_said(tmp_path: Path) -> None:
    assert "This is the same file as before" in told(report(), report(), tmp_path).lead
    assert "same file" not in told(report(), other(report()), tmp_path).lead
    size = report().print_size
    assert size is not None
    larger = other(report(), print_size=replace(size, width_mm=300.0, height_mm=200.0))
    assert "was 280 × 186.7 mm and is now 300 × 200 mm" in told(report(), larger, tmp_path).lead


def test_a_rule_that_is_no_more_is_told_by_what_was_seen(tmp_path: Path) -> None:
    new = other(report(Verdict.READY), findings=())
    found = told(report(Verdict.STOP, finding("old-rule")), new, tmp_path)
    assert found.groups == (("Fixed", ("The thinnest line is 0.21 mm wide.",)),)


def test_files_are_matched_by_path_by_name_and_by_page(tmp_path: Path) -> None:
    first, second = replace(report(), file="a/x.png"), replace(report(), file="b/x.png", sha256="ef" * 32)
    pages = [replace(report(), file="doc.pdf", page=n, sha256=f"{n}{n}" * 32) for n in (1, 2)]
    old = archive(tmp_path, first, second, *pages)

    def found(**asked: Any) -> str | None:
        earlier = old.of(replace(report(), **asked), alone=False)
        return None if earlier is None else earlier.sha256

    assert found(file="b/x.png") == "ef" * 32
    assert found(file="c/x.png") is None  # two are called so
    assert found(file="new/doc.pdf", page=2) == "22" * 32
    assert found(file="doc.pdf", page=3) is None
    assert old.of(replace(report(), file="y.png"), alone=True) is None  # which of them would it be?
    only = archive(tmp_path, first)
    assert only.of(replace(report(), file="y.png"), alone=True) is not None
    assert only.of(replace(report(), file="y.png"), alone=False) is None
    none = compared(replace(report(), extra={EARLIER: Against(None, {})}), ENGLISH)
    assert none is not None
    assert none.lead == "The earlier report says nothing about this file."


def edited(change: Callable[[dict[str, Any]], object]) -> bytes:
    whole = json.loads(scripts.document([report()]))
    change(whole)
    return json.dumps(whole).encode()


BROKEN = {
    "empty": b"",
    "no JSON": b"\x89PNG\r\n\x1a\n",
    "half": edited(lambda whole: None)[:300],
    "a list": b"[]",
    "other JSON": b'{"name": "x"}',
    "no artworks": b'{"schema": 1}',
    "artworks is text": b'{"schema": 1, "artworks": "x"}',
    "an artwork is a number": b'{"schema": 1, "artworks": [7]}',
    "a later schema": edited(lambda whole: whole.update(schema=2)),
    "schema true": edited(lambda whole: whole.update(schema=True)),
    "file is null": edited(lambda whole: whole["artworks"][0].update(file=None)),
    "page is text": edited(lambda whole: whole["artworks"][0].update(page="1")),
    "no severity": edited(lambda whole: whole["artworks"][0]["findings"][0].pop("severity")),
    "another severity": edited(lambda whole: whole["artworks"][0]["findings"][0].update(severity="bad")),
    "value is text": edited(lambda whole: whole["artworks"][0]["findings"][0].update(value="1")),
    "value is no number": edited(lambda whole: whole["artworks"][0]["findings"][0].update(value=float("nan"))),
    "value is huge": edited(lambda whole: whole["artworks"][0]["findings"][0].update(value=10**400)),
    "unit unknown to nobody": edited(lambda whole: whole["artworks"][0]["findings"][0].update(unit=5)),
    "deep": b"[" * 100_000,
}


@pytest.mark.parametrize("data", BROKEN.values(), ids=BROKEN)
def test_what_is_no_report_is_said_in_a_sentence(data: bytes, tmp_path: Path) -> None:
    path = tmp_path / "old.json"
    path.write_bytes(data)
    with pytest.raises(UsageError) as slip:
        Archive(str(path))
    assert "earlier report" in slip.value.what
    assert slip.value.file == str(path)
    for missing in (tmp_path / "none.json", tmp_path):
        with pytest.raises(UsageError, match="cannot be read"):
            Archive(str(missing))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An artwork with a thin line and specks; a new version without the line."""
    rgba = clear(50, 40)
    paint(rgba, disc(rgba, (25, 18), 10), (160, 60, 50))
    paint(rgba, stroke(rgba, (25, 35), 30, 2.0, 0), (160, 60, 50))
    Image.fromarray(rgba).save(tmp_path / "new.png", dpi=(300, 300))
    paint(rgba, stroke(rgba, (25, 38), 30, 0.2, 0), (160, 60, 50))
    Image.fromarray(rgba).save(tmp_path / "art.png", dpi=(300, 300))
    done = run(tmp_path, "art.png", "--format", "json", "--output", "old.json")
    assert done.returncode == ExitStatus.STOP, done.stderr
    return tmp_path


def compare(folder: Path, *more: str) -> subprocess.CompletedProcess[str]:
    return run(folder, "new.png", "--compare", "old.json", *more)


def test_every_report_for_people_says_what_became_of_it(folder: Path) -> None:
    done = compare(folder)
    assert done.returncode == ExitStatus.READY, done.stdout
    assert "\n Since the earlier version\n" in done.stdout
    assert "\n Fixed\n - " in done.stdout
    assert "Lines too thin to print." in done.stdout
    assert compare(folder, "--format", "html", "--output", "new.html").returncode == ExitStatus.READY
    assert "Lines too thin to print." in (folder / "new.html").read_text(encoding="utf-8")
    assert compare(folder, "--format", "pdf", "--output", "new.pdf").returncode == ExitStatus.READY
    text = words((folder / "new.pdf").read_bytes())
    assert tight("Since the earlier version") in text
    assert text.index("Fixed") < text.index(tight("Lines too thin to print."))
    same = run(folder, "art.png", "--compare", "old.json")
    assert "This is the same file as before, to the last byte." in " ".join(same.stdout.split())


def test_the_json_stays_as_it_is(folder: Path) -> None:
    plain, beside = (json.loads(run(folder, "new.png", "--format", "json", *more).stdout)
                     for more in ((), ("--compare", "old.json")))  # fmt: skip
    for whole in (plain, beside):
        whole["artworks"][0].pop("seconds")
    assert plain == beside


def test_a_slip_is_answered_before_any_artwork_is_opened(folder: Path) -> None:
    (folder / "bad.json").write_text('{"schema": 1}', encoding="utf-8")
    for name in ("bad.json", "none.json"):
        done = run(folder, "new.png", "--compare", name, "--output", "out.txt")
        assert done.returncode == ExitStatus.USED_WRONGLY
        assert done.stderr.startswith(f"preflight: {name}: ")
        assert not (folder / "out.txt").exists()
