"""That the tally over hostile files counts what it says it counts."""

from __future__ import annotations

import io
import random
import re
import tarfile
from dataclasses import replace
from pathlib import Path

import pytest

from preflight.shop import Shop
from tests.bench.corpus import fetch, record, run, tally
from tests.bench.corpus.bombs import damaged, documents, drawings, odd, painted, postscript
from tests.bench.corpus.record import Life, Record
from tests.bench.corpus.run import Outcome
from tests.bench.corpus.sources import SOURCES

GOOD = Record("bombs", "a.png", "x", "PNG", ["ready"], [], [], 0.5, 0.6, 0.5, 10**8, [], None)


def test_a_folder_is_checked_and_gone_on_with(tmp_path, monkeypatch):
    """Two files, one of them no picture, and the good one before and after; once more: nothing is left to do."""
    place = tmp_path / "files" / "bombs"
    place.mkdir(parents=True)
    (place / "good.png").write_bytes(next(damaged.good())[2])
    (place / "bad.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    monkeypatch.setattr(run, "usual_method", lambda: "fork")  # a test's process may have threads
    records = tmp_path / "records.jsonl"
    first = run.run(tmp_path, records, jobs=1, only=(), again=False)
    assert first == Outcome(2, 0)
    bad, good = sorted(record.read(records), key=lambda one: one.file)
    assert (bad.file, bad.verdict, bad.failure, bad.deaths) == ("bad.png", "unchecked", None, [])
    assert "ends before" in bad.reasons[0]
    assert (good.format, good.verdicts) == ("PNG", ["stop"])
    assert good.clock > 0
    assert run.run(tmp_path, records, jobs=1, only=(), again=False).asked == 1
    assert len(record.read(records)) == 2
    text = tally.tally(record.read(records), list(run.files(tmp_path)), first)
    assert "2 files, 2 pages answered" in text
    assert "Failures of this program: **0**. Files without an answer: **0**" in text
    assert "asked about 2 times" in text


def test_the_programs_own_failure_is_counted(tmp_path):
    from preflight.concluding import Source
    from preflight.engine import Checker, failed
    from preflight.rulebook import load_rulebook
    from preflight.ticket import Order

    shop = Shop.default()
    path = tmp_path / "a.png"
    path.write_bytes(b"x")
    report = failed(Source.of(path), Checker(Order(), shop, load_rulebook(shop)), ValueError("oh"))
    one = record.record("bombs", path, "x", [report], [])
    assert one.failure is not None
    assert "ValueError: oh" in one.failure
    text = tally.tally([one], [tmp_path / "bombs" / "a.png"], None)
    assert "Failures of this program: **1**" in text


def test_what_is_missing_is_counted(tmp_path):
    paths = [Path("files/bombs/a.png"), Path("files/bombs/b.png")]
    text = tally.tally([GOOD, replace(GOOD, file="gone.png")], paths, Outcome(3, 1))
    assert "2 files, 1 pages answered" in text
    assert "Files without an answer: **1**" in text
    assert "otherwise than at the start **1** times" in text


def test_deaths_and_reasons_are_told():
    died = replace(GOOD, file="a\n|.pdf", verdicts=["unchecked"], deaths=["time"], reasons=["longer than 20 seconds"])
    alike = [replace(died, file=str(n), deaths=[], reasons=[f"longer than {n} seconds"]) for n in range(4)]
    text = tally.tally([GOOD, died, *alike], [Path("bombs") / one.file for one in (GOOD, died, *alike)], None)
    assert r"time: `bombs/a\n|.pdf`" in text
    assert re.search(r"longer than N seconds \| 5 \|", text)


def test_a_broken_line_is_left_out(tmp_path):
    path = tmp_path / "records.jsonl"
    record.write(path, [GOOD])
    path.write_text(path.read_text(encoding="utf-8") + '{"corpus": "bo', encoding="utf-8")
    assert record.read(path) == [GOOD]
    assert record.record("x", Path("a"), "x", (), [Life(1, 2, 3, "crash"), Life(4, 5, 6, None)]).slowest == 4


def test_unpacking_gives_numbers_for_names(tmp_path):
    source = replace(SOURCES[0], wanted=re.compile(r"images/.*\.png$", re.IGNORECASE))
    with tarfile.open(tmp_path / "package.tar.gz", "w:gz") as tar:
        for name in ("p/images/zoe.PNG", "p/images/adam.png", "p/other/x.png", "p/images/../../../evil.png"):
            info = tarfile.TarInfo(name)
            info.size = 3
            tar.addfile(info, io.BytesIO(b"abc"))
    count = fetch.unpack(tmp_path / "package.tar.gz", source, tmp_path / "files" / "x", tmp_path / "names")
    assert count == 2 + 1
    assert sorted(path.name for path in (tmp_path / "files" / "x").iterdir()) == ["0001.png", "0002.png", "0003.png"]
    with pytest.raises(FileNotFoundError):
        fetch.unpack(tmp_path / "package.tar.gz", replace(source, wanted=re.compile("none")), tmp_path / "y", tmp_path)


@pytest.mark.slow
def test_the_made_files_are_many_and_of_their_own_names():
    bombs = [name for maker in (drawings, documents, painted, postscript) for name, _ in maker.files()]
    harmed = [name for name, _ in damaged.files(random.Random(1))]
    others = [name for name, _ in odd.files()]
    for names, least in ((bombs, 250), (harmed, 400), (others, 50)):
        assert len(names) == len(set(names)) > least
    assert {source.client for source in SOURCES} == {"pip", "apt", "wheel"}


def test_each_good_file_is_good(tmp_path):
    from preflight.intake import open_pages

    for name, ending, data in damaged.good():
        path = tmp_path / f"{name}.{ending}"
        path.write_bytes(data)
        if ending not in ("eps", "heic"):  # these need programs and libraries that may be missing
            assert open_pages(path, pixel_limit=10**8)[0].facts.width > 0
