"""Under a tracer: while files of every format are open, nothing talks to a network and nothing is written elsewhere."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

import pytest

from preflight.intake import ghostscript
from tests.bench.corpus import trace
from tests.bench.corpus.bombs import damaged, documents, drawings, postscript

pytestmark = pytest.mark.slow
ROOT = Path(__file__).parents[2]
_WHY_NOT = trace.possible()
needs_tracer = pytest.mark.skipif(_WHY_NOT is not None, reason=str(_WHY_NOT))
_BAD_POSTSCRIPT = (
    "writes-into-tmp",
    "reads-passwords",
    "starts-a-program",
    "deletes-a-file",
    "asks-for-another-device",
)
_BAD_DRAWINGS = ("svg-picture-in-a-file.svg", "svg-picture-in-an-address.svg", "svg-font-in-an-address.svg",
                 "svg-outer-style-sheet-in-a-file.svg", "svg-script.svg")  # fmt: skip
_BAD_DOCUMENTS = ("pdf-opens-a-address.pdf", "pdf-opens-a-program.pdf", "pdf-stream-in-a-file.pdf",
                  "pdf-picture-in-an-address.pdf", "pdf-attached-program.pdf")  # fmt: skip


def customers_files(folder: Path) -> list[Path]:
    """A good file of each format, and some that reach outside."""
    made = {f"{name}.{ending}": data for name, ending, data in damaged.good()}
    made |= {f"{name}.eps": postscript.HEAD + postscript.BODIES[name] + postscript.TAIL for name in _BAD_POSTSCRIPT}
    made |= {
        name: data for name, data in (*drawings.files(), *documents.files()) if name in _BAD_DRAWINGS + _BAD_DOCUMENTS
    }
    folder.mkdir()
    for name, data in made.items():
        (folder / name).write_bytes(data)
    return sorted(folder.iterdir())


def seen_of(command: list[str], folder: Path, **more: object) -> trace.Seen:
    """Run it under the tracer with a temporary folder of its own."""
    temporary, log = folder / "tmp", folder / "log"
    temporary.mkdir()
    environment = os.environ | {"TMPDIR": str(temporary), "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(ROOT)}
    done = trace.traced(command, log, env=environment, cwd=folder)
    assert done.returncode in (0, 10, 11, 12), done.stderr
    assert list(temporary.iterdir()) == []
    with log.open(encoding="utf-8", errors="replace") as lines:
        return trace.Seen(main_may=(str(temporary), *more.get("may", ())), may_read=trace.library_folders()).take(lines)  # type: ignore[misc]


@needs_tracer
def test_files_of_every_format(tmp_path):
    files, answer = customers_files(tmp_path / "files"), tmp_path / "answers" / "answer.json"
    answer.parent.mkdir()
    assert len(files) > 30
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in files}
    names = [str(path) for path in files]
    options = ["--width", "280mm", "--jobs", "2", "--format", "json", "--output", str(answer)]
    command = [sys.executable, "-m", "preflight", "check", *names, *options]
    seen = seen_of(command, tmp_path, may=[str(answer.parent)])
    assert seen.calls > 1000
    assert len(seen.processes) > len(files)
    assert dict(seen.network) == {}
    assert dict(seen.network_tried) == {}
    assert dict(seen.outside) == {}
    assert {path for path in seen.looked if not path.startswith(str(tmp_path / "files"))} == set()
    assert {Path(path).name for path in seen.started} <= {"gs"}
    assert len(json.loads(answer.read_text(encoding="utf-8"))["artworks"]) >= len(files)
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in files} == before


@needs_tracer
@pytest.mark.skipif(ghostscript.command() is None, reason="Ghostscript is not installed")
def test_ghostscript_is_held_too(tmp_path):
    """It is started for this file, which tells it to write, and it does not."""
    path, written = tmp_path / "art.eps", tmp_path / "written.txt"
    body = b"(%s) (w) file dup (x) writestring closefile " % str(written).encode()
    path.write_bytes(postscript.HEAD + body + postscript.ART + postscript.TAIL)
    seen = seen_of([sys.executable, "-m", "preflight", "check", str(path), "--width", "80mm"], tmp_path)
    assert {Path(path).name for path in seen.started} == {"gs"}
    assert dict(seen.outside) == {}
    assert not written.exists()


_WRONGDOER = """
import os, socket
socket.socket(socket.AF_INET, socket.SOCK_DGRAM).close()
try:
    socket.socket(socket.AF_INET, socket.SOCK_STREAM).connect(("127.0.0.1", 9))
except OSError:
    pass
child = os.fork()
if not child:
    open("elsewhere", "w").close()
    os.rename("elsewhere", "moved")
    os.unlink("moved")
    try:
        open("/proc/nothing/here", "w")
    except OSError:
        pass
    try:
        open("/proc/version", "w")
        os.mkdir("/proc/new")
    except OSError:
        pass
    open("log").close()
    os._exit(0)
os.waitpid(child, 0)
"""


@needs_tracer
def test_the_tracer_sees_what_it_is_there_for(tmp_path):
    seen = seen_of([sys.executable, "-c", _WRONGDOER], tmp_path)
    assert seen.network["socket(AF_INET)"] == 2
    assert any(call.startswith("connect") for call in seen.network_tried)
    assert {change.split()[0] for change in seen.outside} >= {"openat", "unlink", "rename"}
    assert f"openat {tmp_path / 'elsewhere'}" in seen.outside
    assert f"unlink {tmp_path / 'moved'}" in seen.outside
    assert str(tmp_path / "log") in seen.looked


def test_lines_of_the_tracer():
    lines = [
        '7 openat(AT_FDCWD</home>, "a", O_RDONLY) = 3</home/a>',
        '8 openat(AT_FDCWD</home>, "b", O_WRONLY|O_CREAT <unfinished ...>',
        "9 socket(AF_INET, SOCK_STREAM, IPPROTO_IP) = -1 EACCES (Permission denied)",
        "8 <... openat resumed>, 0600) = 4</home/b>",
        '9 mkdir("/tmp/preflight-ab/1", 0700) = 0',
        '9 unlinkat(4</tmp/preflight-ab/1>, "said", 0) = 0',
        '9 rename("/tmp/preflight-ab/1/x", "/etc/x") = -1 EXDEV (Invalid cross-device link)',
        "9 socketpair(AF_UNIX, SOCK_STREAM, 0, [3, 4]) = 0",
        '9 execve("/bin/sh", ["sh"], 0x1 /* 9 vars */) = 0',
    ]
    seen = trace.Seen().take(lines)
    assert dict(seen.outside) == {"openat /home/b": 1}
    assert dict(seen.outside_tried) == {"rename /etc/x": 1}
    assert dict(seen.network) == {}
    assert dict(seen.network_tried) == {"socket(AF_INET)": 1}
    assert dict(seen.started) == {"/bin/sh": 1}
    assert seen.processes == {7, 8, 9}
