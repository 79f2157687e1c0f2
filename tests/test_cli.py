"""The command line: exit statuses, one plain sentence for every slip, and answers in the right place."""

from __future__ import annotations

import json
import os
import re
import shlex
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from PIL import Image, ImageDraw

from preflight import __version__, cli
from preflight.commands import progress
from preflight.model import ExitStatus
from tests.direct import Direct

ROOT = Path(__file__).parents[1]
SCHEMA = json.loads((ROOT / "docs" / "report.schema.json").read_text(encoding="utf-8"))
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command in this process; status, standard output and standard error."""

    def run_it(*arguments: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            cli.main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        assert isinstance(ended.value.code, int)
        return ended.value.code, out, err

    return run_it


@pytest.fixture(autouse=True)
def in_a_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


@pytest.fixture
def good(tmp_path: Path) -> Path:
    """A disc of 50 mm at 300 ppi."""
    return disc(tmp_path / "good.png", 591)


@pytest.fixture
def coarse(tmp_path: Path) -> Path:
    """The same disc with 60 ppi at 50 mm."""
    return disc(tmp_path / "coarse.png", 118)


def disc(path: Path, size: int) -> Path:
    finer = Image.new("RGBA", (size * 4, size * 4), (0, 0, 0, 0))
    ImageDraw.Draw(finer).ellipse([0, 0, size * 4 - 1, size * 4 - 1], fill=(150, 70, 60, 255))
    finer.reduce(4).save(path)
    return path


def artworks(out: str) -> list[dict[str, Any]]:
    whole = json.loads(out)
    jsonschema.Draft202012Validator(SCHEMA).validate(whole)
    listed = whole["artworks"]
    assert isinstance(listed, list)
    return listed


# ---- used wrongly -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ("check a.png --width 12", "--width '12' has no unit"),
        ("check a.png --width 12|parsecs", "Use one of mm, cm, in, pt"),
        ("check a.png --width 0,3|m", "decimal comma"),
        ("check a.png --width nan", "--width 'nan' is not a length"),
        ("check a.png --width infmm", "--width 'infmm'"),
        ("check a.png --width 0mm", "more than zero"),
        ("check a.png --width -5mm", "more than zero"),
        ("check a.png --height 99999999mm", "no print has that size"),
        ("check a.png --height", "--height needs a value"),
        ("check a.png --size-of paper", "Choose one of artwork, canvas"),
        ("check a.png --copies 0", "whole number from 1"),
        ("check a.png --copies 2.5", "whole number from 1"),
        ("check a.png --copies ²", "whole number from 1"),
        ("check a.png --jobs 0", "--jobs 0 is not a number that can be used"),
        ("check a.png --jobs -1", "whole number from 1"),
        ("check a.png --jobs many", "whole number from 1"),
        ("check a.png --garment blurple", 'the garment colour "blurple" is not known'),
        ("check a.png --mode turbo", 'the shop has no mode "turbo"'),
        ("check a.png --format xml", "Choose one of text, json"),
        ("check a.png --shop none.toml", "none.toml: there is no such file"),
        ("check a.png --rules none", "none: this folder of rules is not there"),
        ("check a.png --output none/report.txt", "there is no folder 'none'"),
        ("check a.png --output .", "this is a folder"),
        ("check a.png --output a.pdf", "a.pdf: this name is one for pdf, and the report is text. Add --format pdf, or"),
        ("check a.png --output a.JSON", "Add --format json, or choose another name, such as report.txt."),
        ("check a.png --format json --output a.htm", "Add --format html, or choose another name, such as report.json."),
        ("check a.png --format html --output a.pdf", "Add --format pdf"),
        ("check a.png --wdth 3mm", "Did you mean --width?"),
        ("check a.png --widht 3mm", "Did you mean --width?"),
        ("check a.png --hight 3mm", "Did you mean --height?"),
        ("check a.png --verbose=3", "--verbose takes no value"),
        ("check", "no file is named"),
        ("check a.ticket.toml", "only tickets were named"),
        ("chekc a.png", "Did you mean check?"),
        ("rules nonsense", "there is no rule 'nonsense'"),
        ("rules thin-line thin-gap", "'thin-gap' is too much here"),
        ("shop none/shop.toml", "there is no folder none"),
    ],
)
def test_a_slip_is_told_in_one_sentence(run: Run, arguments: str, said: str) -> None:
    status, out, err = run(*(part.replace("|", " ") for part in arguments.split(" ")))
    assert (status, out) == (ExitStatus.USED_WRONGLY, "")
    assert said in err
    assert err.startswith("preflight: ")
    assert err.count("\n") == 1
    assert not re.search(r"traceback|error|invalid|please|sorry|forbidden", err, re.IGNORECASE)


def test_nothing_is_opened_when_the_report_has_no_place(run: Run, good: Path) -> None:
    before = good.read_bytes()
    assert run("check", good, "--output", good)[0] == ExitStatus.USED_WRONGLY
    assert good.read_bytes() == before


def test_a_report_never_takes_the_place_of_a_picture(run: Run, good: Path, coarse: Path) -> None:
    before = good.read_bytes()
    status, _, err = run("check", coarse, "--width", "50mm", "--output", good)
    assert status == ExitStatus.USED_WRONGLY
    assert "a file that is no report is there already" in err
    assert good.read_bytes() == before


def test_a_slip_in_the_shop_file_names_file_line_and_key(run: Run, good: Path) -> None:
    Path("shop.toml").write_text('[film]\nwidth = "wide"\n', encoding="utf-8")
    status, out, err = run("check", good, "--shop", "shop.toml")
    assert (status, out) == (ExitStatus.USED_WRONGLY, "")
    assert "shop.toml, line 2, film.width: " in err


# ---- what cannot be checked -------------------------------------------------------------------------------------


def test_what_cannot_be_read_is_answered_and_so_are_the_others(run: Run, good: Path, tmp_path: Path) -> None:
    (tmp_path / "empty.png").write_bytes(b"")
    (tmp_path / "words.png").write_text("this is no picture", encoding="utf-8")
    (tmp_path / "folder").mkdir()
    (tmp_path / "cut.png").write_bytes(good.read_bytes()[:-400])
    names = ["missing.png", "empty.png", "words.png", "folder", "good.png", "cut.png"]
    status, out, err = run("check", *names, "--width", "50mm", "--format", "json")
    assert (status, err) == (ExitStatus.UNCHECKED, "")
    listed = artworks(out)
    assert [artwork["file"] for artwork in listed] == names
    assert [artwork["verdict"] for artwork in listed] == ["unchecked"] * 4 + ["ready", "unchecked"]
    for artwork in listed[:4]:
        assert [finding["rule"] for finding in artwork["findings"]] == ["unreadable-file"]
        assert artwork["print"] is artwork["ink"] is artwork["cost"] is None
    assert [finding["rule"] for finding in listed[5]["findings"]] == ["cut-short"]
    assert listed[5]["format"] == "PNG"
    assert listed[0]["sha256"] is None
    assert listed[2]["sha256"] is not None


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read everything")
def test_a_file_without_permission_is_answered(run: Run, good: Path) -> None:
    good.chmod(0)
    status, out, _ = run("check", good, "--width", "50mm")
    assert status == ExitStatus.UNCHECKED
    assert "may not be read" in out


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no named pipes here")
def test_a_pipe_is_answered_and_not_waited_for(run: Run, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.png")
    status, out, _ = run("check", "pipe.png")
    assert status == ExitStatus.UNCHECKED
    assert "a device or a pipe" in out


def test_a_file_that_the_program_fails_on_costs_only_itself(
    run: Run, good: Path, coarse: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from preflight.commands import check
    from preflight.measure import examine

    real = examine.examine

    def failing(artwork: Any, *rest: Any) -> Any:
        if "coarse" in artwork.name:
            raise KeyError("a slip of ours")
        return real(artwork, *rest)

    monkeypatch.setattr(examine, "examine", failing)
    monkeypatch.setattr(check, "Workshop", Direct)
    status, out, err = run("check", coarse, good, "--width", "50mm")
    assert status == ExitStatus.UNCHECKED
    assert "This program failed on it (KeyError)" in out
    assert "Run it again with --verbose" in " ".join(out.split())
    assert "1 ready, 1 not checked" in out
    assert err == ""
    status, out, err = run("check", coarse, good, "--width", "50mm", "--verbose")
    assert "a slip of ours" in err
    assert "Traceback" in err
    assert "Traceback" not in out


@pytest.mark.skipif(
    sys.platform != "linux", reason="the step that is replaced here reaches only a copy of this process"
)
@pytest.mark.parametrize("jobs", ["1", "2"])
def test_a_file_that_kills_its_decoder_costs_only_itself(good: Path, coarse: Path, jobs: str) -> None:
    code = (
        "import os, preflight.cli, preflight.intake as intake\n"
        "real = intake.open_pages\n"
        "def opened(path, **more):\n"
        "    if 'coarse' in path.name: os.write(2, b'free(): \\x1b[2J wrong\\n'); os.abort()\n"
        "    return real(path, **more)\n"
        "intake.open_pages = opened\n"
        f"names = [{str(good)!r}, {str(coarse)!r}, {str(good)!r}]\n"
        f"preflight.cli.main(['check', *names, '--width', '50mm', '--jobs', {jobs!r}, '--verbose'])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, encoding="utf-8", env=ENVIRONMENT, check=False
    )
    assert done.returncode == ExitStatus.UNCHECKED
    assert "The decoder crashed while reading it (SIGABRT)" in " ".join(done.stdout.split())
    assert "2 ready, 1 not checked" in done.stdout
    assert "free(): \\x1b[2J wrong" in done.stderr
    assert "Traceback" not in done.stderr


def test_verbose_says_what_guards_the_computer(run: Run, good: Path) -> None:
    status, out, err = run("check", good, "--width", "50mm", "--verbose")
    assert status == ExitStatus.READY
    assert err.startswith("While a customer's file is open:\n  each file is opened in a child process of its own")
    assert "memory: 2 GB for one file" in err
    assert "memory:" not in out
    assert run("check", good, "--width", "50mm")[2] == ""


def test_a_failure_of_the_program_has_a_status_of_its_own(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    from preflight.commands import rules

    def failing(*_: object) -> None:
        raise KeyError("a slip of ours")

    monkeypatch.setattr(rules, "load_rulebook", failing)
    status, out, err = run("rules")
    assert (status, out) == (ExitStatus.TOOL_FAILED, "")
    assert err == "preflight: the program failed (KeyError). Run it again with --verbose and report what that prints.\n"
    status, out, err = run("rules", "--verbose")
    assert "a slip of ours" in err


# ---- answers ----------------------------------------------------------------------------------------------------


def test_good_artwork_is_ready(run: Run, good: Path) -> None:
    status, out, err = run("check", good, "--width", "50mm")
    assert (status, err) == (ExitStatus.READY, "")
    assert "READY" in out


def test_the_worst_artwork_gives_the_status(run: Run, good: Path, coarse: Path) -> None:
    status, out, _ = run("check", good, coarse, "--width", "50mm", "--format", "json")
    assert status == ExitStatus.STOP
    assert [artwork["verdict"] for artwork in artworks(out)] == ["ready", "stop"]
    assert run("check", good, coarse, "gone.png", "--width", "50mm")[0] == ExitStatus.UNCHECKED


def test_a_ticket_says_the_same_as_options_and_an_option_wins(run: Run, good: Path) -> None:
    good.with_suffix(".ticket.toml").write_text(
        'width = "50mm"\ncopies = 7\ngarments = ["navy"]\nmode = "fast"\n', encoding="utf-8"
    )
    ticket = artworks(run("check", good, "--format", "json")[1])[0]["ticket"]
    assert ticket == {"width_mm": 50.0, "height_mm": None, "copies": 7, "garments": ["navy"], "mode": "fast"}
    ticket = artworks(run("check", good, "--format", "json", "--copies", "3", "--height", "2in")[1])[0]["ticket"]
    assert ticket == {"width_mm": None, "height_mm": 50.8, "copies": 3, "garments": ["navy"], "mode": "fast"}


def test_a_ticket_with_a_slip_leaves_its_artwork_unchecked(run: Run, good: Path, coarse: Path) -> None:
    good.with_suffix(".ticket.toml").write_text('width = "50"\n', encoding="utf-8")
    status, out, _ = run("check", good, coarse, "--width", "50mm", "--format", "json")
    assert status == ExitStatus.UNCHECKED
    first, second = artworks(out)
    assert [finding["rule"] for finding in first["findings"]] == ["unreadable-ticket"]
    assert "good.ticket.toml, line 1, width" in first["findings"][0]["seen"]
    assert second["verdict"] == "stop"


def test_tickets_among_the_files_are_left_out(run: Run, good: Path) -> None:
    ticket = good.with_suffix(".ticket.toml")
    ticket.write_text('width = "50mm"\n', encoding="utf-8")
    assert [artwork["file"] for artwork in artworks(run("check", good, ticket, "--format", "json")[1])] == [str(good)]


def test_patterns_that_no_shell_expanded_are_expanded(run: Run, good: Path, coarse: Path) -> None:
    (coarse.parent / "[odd].png").write_bytes(good.read_bytes())
    out = run("check", "[odd].png", "g*.png", "c?arse.png", "x*.png", "--width", "50mm", "--format", "json")[1]
    assert [artwork["file"] for artwork in artworks(out)] == ["[odd].png", "good.png", "coarse.png", "x*.png"]


def test_another_format_than_the_name_says_is_noted(run: Run, good: Path) -> None:
    renamed = good.rename("good.jpg")
    status, out, _ = run("check", renamed, "--width", "50mm", "--format", "json")
    assert status == ExitStatus.READY
    (found,) = artworks(out)[0]["findings"]
    assert (found["rule"], found["severity"]) == ("wrong-extension", "note")


def test_jobs_change_nothing_but_the_time(run: Run, good: Path, coarse: Path) -> None:
    names = [good, "gone.png", coarse, good]
    answers = []
    for jobs in ("1", "2"):
        listed = artworks(run("check", *names, "--width", "50mm", "--format", "json", "--jobs", jobs)[1])
        answers.append([{**artwork, "seconds": 0} for artwork in listed])
    assert answers[0] == answers[1]


def test_the_report_is_written_whole(run: Run, good: Path) -> None:
    status, out, _ = run("check", good, "--width", "50mm", "--format", "json", "--output", "report.json")
    assert (status, out) == (ExitStatus.READY, "")
    first = Path("report.json").read_text(encoding="utf-8")
    assert artworks(first)[0]["verdict"] == "ready"
    Path("report.json").rename("report.txt")
    run("check", good, "--width", "50mm", "--output", "report.txt")
    assert "READY" in Path("report.txt").read_text(encoding="utf-8")
    assert sorted(path.name for path in Path().iterdir()) == ["good.png", "report.txt"]


@pytest.mark.skipif(os.name == "nt", reason="links and devices of POSIX")
def test_a_link_stays_a_link_and_a_device_a_device(run: Run, good: Path) -> None:
    Path("real.txt").write_text("old", encoding="utf-8")
    Path("link.txt").symlink_to("real.txt")
    assert run("check", good, "--width", "50mm", "--output", "link.txt")[0] == ExitStatus.READY
    assert Path("link.txt").is_symlink()
    assert "READY" in Path("real.txt").read_text(encoding="utf-8")
    status, _, err = run("check", good, "--output", os.devnull)
    assert status == ExitStatus.USED_WRONGLY
    assert "no ordinary file" in err
    assert not Path(os.devnull).is_file()


def test_an_interrupted_report_leaves_nothing(run: Run, good: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from preflight.commands import check

    def interrupted(*_: object) -> Iterator[None]:
        raise KeyboardInterrupt
        yield

    monkeypatch.setattr(check, "answers", interrupted)
    status, out, err = run("check", good, "--output", "report.txt")
    assert (status, out) == (ExitStatus.TOOL_FAILED, "")
    assert err == "preflight: stopped by Ctrl-C before everything was answered.\n"
    assert sorted(path.name for path in Path().iterdir()) == ["good.png"]


def test_a_report_that_cannot_be_put_in_place_is_kept(run: Run, good: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def busy(*_: object) -> None:
        raise PermissionError(13, "in use")

    monkeypatch.setattr(Path, "replace", busy)
    status, _, err = run("check", good, "--width", "50mm", "--output", "report.txt")
    assert status == ExitStatus.TOOL_FAILED
    kept = re.search(r"complete in '(.+?)'", err)
    assert kept
    assert "READY" in Path(kept[1]).read_text(encoding="utf-8")


# ---- other commands ---------------------------------------------------------------------------------------------


def test_version(run: Run) -> None:
    assert run("--version") == (ExitStatus.READY, f"preflight {__version__}\n", "")


def test_every_help_has_an_example(run: Run) -> None:
    for command in ("check", "rules", "shop", "demo"):
        status, out, _ = run(command, "--help")
        assert status == ExitStatus.READY
        assert f"\n      preflight {command}" in out
        assert max(map(len, out.splitlines())) <= 96
    assert all(f"\n  {command} " in run("--help")[1] for command in ("check", "rules", "shop", "demo"))
    assert run()[1] == run("--help")[1]


def test_the_help_tells_every_exit_status(run: Run) -> None:
    out = run("check", "--help")[1]
    assert all(re.search(rf"\b{int(status)}\b", out) for status in ExitStatus)


def test_rules_are_listed_and_explained(run: Run) -> None:
    status, out, _ = run("rules")
    assert status == ExitStatus.READY
    assert "low-resolution" in out
    assert "unreadable-file" in out
    assert "0.35 mm" in run("rules", "thin-line")[1]
    assert max(len(line) for line in out.splitlines()) <= 80


def test_a_shop_file_is_written_once_and_then_explained(run: Run) -> None:
    status, out, _ = run("shop")
    assert status == ExitStatus.READY
    assert "shop.toml is written" in out
    written = Path("shop.toml").read_bytes()
    status, out, _ = run("shop", "shop.toml")
    assert status == ExitStatus.READY
    assert "Film 330 mm wide" in out
    assert Path("shop.toml").read_bytes() == written


def test_a_shop_file_with_a_slip_is_told(run: Run) -> None:
    Path("mine.toml").write_text("[film]\nwdth = 3\n", encoding="utf-8")
    status, out, err = run("shop", "mine.toml")
    assert (status, out) == (ExitStatus.USED_WRONGLY, "")
    assert "mine.toml, line 2" in err


# ---- as a process of its own ------------------------------------------------------------------------------------


def command(*arguments: str) -> list[str]:
    return [sys.executable, "-m", "preflight", *arguments]


ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT)}


def test_start_up_is_cheap() -> None:
    code = (
        "import sys, preflight.cli\n"
        "try: preflight.cli.main(['--version'])\n"
        "except SystemExit: pass\n"
        "print([name for name in ('numpy', 'rich', 'PIL', 'cv2', 'pyvips') if name in sys.modules])"
    )
    out = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=ENVIRONMENT, check=True
    ).stdout
    assert out.splitlines()[-1] == "[]"


def test_a_check_imports_nothing_heavy(good: Path) -> None:
    code = (
        "import sys, preflight.cli\n"
        f"try: preflight.cli.main(['check', {str(good)!r}, '--width', '50mm'])\n"
        "except SystemExit: pass\n"
        "heavy = ('scipy', 'skimage', 'colour', 'pandas', 'matplotlib', 'multiprocessing', 'rich.progress')\n"
        "print([name for name in heavy if name in sys.modules])"
    )
    out = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=ENVIRONMENT, check=True
    ).stdout
    assert out.splitlines()[-1] == "[]"


@pytest.mark.skipif(os.name == "nt", reason="needs a POSIX pipe")
def test_a_reader_that_goes_away_is_no_failure_to_talk_about(good: Path) -> None:
    names = [str(good)] * 6
    with subprocess.Popen(
        command("check", *names, "--width", "50mm"), stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=ENVIRONMENT
    ) as process:
        assert process.stdout
        assert process.stderr
        process.stdout.read(10)
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait(60) == ExitStatus.TOOL_FAILED


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
@pytest.mark.parametrize("form", ["text", "json"])
def test_a_full_disk_is_told(good: Path, form: str) -> None:
    with open("/dev/full", "w") as full:  # noqa: PTH123
        done = subprocess.run(
            command("check", str(good), "--width", "50mm", "--format", form),
            stdout=full, stderr=subprocess.PIPE, text=True, env=ENVIRONMENT, check=False,
        )  # fmt: skip
    assert done.returncode == ExitStatus.TOOL_FAILED
    assert done.stderr.startswith("preflight: the answer could not be written (No space left on device).")
    assert "Traceback" not in done.stderr
    assert done.stderr.count("\n") == 1


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
@pytest.mark.parametrize("jobs", ["1", "2"])
def test_ctrl_c_ends_everything_quietly(good: Path, jobs: str) -> None:
    names = [str(good)] * 400
    with subprocess.Popen(
        command("check", *names, "--width", "50mm", "--jobs", jobs),
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=ENVIRONMENT, start_new_session=True,
    ) as process:  # fmt: skip
        assert process.stdout
        process.stdout.read(10)  # at work
        os.killpg(process.pid, signal.SIGINT)
        _, err = process.communicate(timeout=60)
    assert err.decode() == "preflight: stopped by Ctrl-C before everything was answered.\n"
    assert process.returncode == ExitStatus.TOOL_FAILED
    assert _all_gone(process.pid)


def _all_gone(group: int) -> bool:
    """Whether no process of the group is left within some seconds."""
    for _ in range(50):
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.1)
    return False


def test_a_poor_console_gets_stand_ins(good: Path) -> None:
    environment = {**ENVIRONMENT, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0", "LC_ALL": "C"}
    done = subprocess.run(
        command("check", str(good), "--width", "50mm"), capture_output=True, env=environment, check=False
    )
    assert done.returncode == ExitStatus.READY
    assert b"50 x 50 mm" in done.stdout


def test_json_is_utf_8_whatever_the_console(good: Path) -> None:
    named = good.rename("Käse.png")
    environment = {**ENVIRONMENT, "PYTHONIOENCODING": "ascii"}
    done = subprocess.run(
        command("check", str(named), "--width", "50mm", "--format", "json"), capture_output=True, env=environment,
        check=False,
    )  # fmt: skip
    assert artworks(done.stdout.decode("utf-8"))[0]["file"] == "Käse.png"


# ---- progress ---------------------------------------------------------------------------------------------------


class Watched:
    """Standard error of a terminal."""

    def __init__(self, terminal: bool) -> None:
        self.terminal, self.text = terminal, ""

    def isatty(self) -> bool:
        return self.terminal

    def write(self, text: str) -> int:
        self.text += text
        return len(text)

    def flush(self) -> None:
        pass


@pytest.mark.parametrize(
    ("terminal", "patience", "seen"), [(True, 0.05, True), (True, 60.0, False), (False, 0.0, False)]
)
def test_progress_shows_on_a_terminal_after_a_while(
    monkeypatch: pytest.MonkeyPatch, terminal: bool, patience: float, seen: bool
) -> None:
    stream = Watched(terminal)
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setattr(progress, "PATIENCE", patience)
    monkeypatch.setenv("TERM", "xterm")
    with progress.Progress(3) as bar:
        bar.tick()
        bar.pulse()
        assert stream.text == ""
        time.sleep(0.1)
        bar.pulse()
        bar.tick()
        with bar.aside():
            quiet = len(stream.text)
            time.sleep(0.1)
            assert len(stream.text) == quiet
        bar.pulse()
        bar.tick()
        over = len(stream.text)
        bar.pulse()
        with bar.aside():
            pass
        assert len(stream.text) == over  # with the last file it is gone for good
    assert ("2/3" in stream.text) == seen
    assert bool(stream.text) == seen


@pytest.mark.skipif(os.name == "nt", reason="a shell's >&- is asked")
@pytest.mark.parametrize("closed", [">&-", "2>&-", ">&- 2>&-", "<&-", "<&- >&- 2>&-"])
@pytest.mark.parametrize(
    ("line", "status"),
    [
        ("rules thin-line", ExitStatus.READY),
        ("--help", ExitStatus.READY),
        ("check {good} --width 50mm", ExitStatus.READY),
        ("check {good} --width 50mm --format json", ExitStatus.READY),
        ("check {good} missing.png --width 50mm --jobs 2", ExitStatus.UNCHECKED),
        ("nonsense", ExitStatus.USED_WRONGLY),
    ],
)
def test_a_script_may_close_the_streams_that_it_does_not_read(good: Path, line: str, status: int, closed: str) -> None:
    asked = " ".join(map(shlex.quote, command(*line.format(good=good).split())))
    done = subprocess.run(["sh", "-c", f"{asked} {closed}"], capture_output=True, env=ENVIRONMENT, check=False)
    assert done.returncode == status
    assert b"Traceback" not in done.stderr + done.stdout
    assert len(done.stderr.splitlines()) == (status == ExitStatus.USED_WRONGLY and "2>" not in closed)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
@pytest.mark.parametrize(
    ("line", "status"),
    [("nonsense", ExitStatus.USED_WRONGLY), ("check {good} --wdth 3", ExitStatus.USED_WRONGLY), ("rules", 0)],
)
def test_a_sentence_that_cannot_be_written_does_not_change_the_exit_status(good: Path, line: str, status: int) -> None:
    with open("/dev/full", "w") as full:  # noqa: PTH123
        asked = command(*line.format(good=good).split())
        done = subprocess.run(asked, stdout=subprocess.PIPE, stderr=full, env=ENVIRONMENT, check=False)
    assert done.returncode == status
