"""The program without what Windows lacks: every module loads, and files are answered as they are elsewhere.

It is a stand-in: paths, drives and locked files are still those of this system. See ``without_posix``.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from tests import without_posix

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="Windows needs no stand-in")
ROOT = Path(__file__).parents[1]
#: Loads everything, and tells what failed for want of a name or a module.
_LOAD = """
import importlib, pkgutil, sys
import preflight
failed = []
for found in pkgutil.walk_packages(preflight.__path__, "preflight."):
    if found.name.endswith("__main__"):
        continue
    try:
        importlib.import_module(found.name)
    except (ImportError, AttributeError, NameError) as failure:
        failed.append(f"{found.name}: {failure}")
import os, select, signal
gone = [not hasattr(os, "fork"), not hasattr(signal, "SIGKILL"), not hasattr(select, "poll"), sys.platform == "win32"]
try:
    import fcntl
except ModuleNotFoundError:
    gone.append(True)
assert gone == [True] * 5, gone
print("\\n".join(failed))
"""


@pytest.fixture
def python(tmp_path: Path):
    """Runs Python without those names; an empty answer on standard error is asked for unless ``loud``."""
    site = tmp_path / "site"
    site.mkdir()
    shutil.copy(without_posix.__file__, site / "sitecustomize.py")

    def run(*arguments: str, hidden: bool = True) -> subprocess.CompletedProcess[str]:
        places = [str(site), str(ROOT)] if hidden else [str(ROOT)]
        environment = os.environ | {"PYTHONPATH": os.pathsep.join(places)}
        return subprocess.run(
            [sys.executable, *arguments], capture_output=True, text=True, env=environment, cwd=tmp_path, timeout=120,
            check=False,
        )  # fmt: skip

    return run


def test_every_module_loads(python) -> None:
    done = python("-c", _LOAD)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == ""


def art(folder: Path) -> list[Path]:
    """One artwork in three formats, and one that is cut short."""
    from tests.intake.pdf.making import make

    picture = Image.new("RGBA", (600, 400))
    ImageDraw.Draw(picture).ellipse((40, 40, 560, 360), fill=(200, 30, 60, 255))
    picture.save(folder / "art.png")
    (folder / "cut.png").write_bytes((folder / "art.png").read_bytes()[:-40])
    make(folder / "art.pdf", b"1 0 0 rg 20 20 90 30 re f")
    (folder / "art.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">'
        '<circle cx="20" cy="10" r="8" fill="#c22"/></svg>',
        encoding="utf-8",
    )
    return [*sorted(folder.glob("*.*g")), folder / "art.pdf"]


def verdicts(done: subprocess.CompletedProcess[str]) -> list[tuple[str, str, list[str]]]:
    reports = json.loads(done.stdout)["artworks"]
    return [(one["file"], one["verdict"], sorted(each["rule"] for each in one["findings"])) for one in reports]


def test_files_are_answered_alike(python, tmp_path: Path) -> None:
    """Each in a child that is started afresh, with the limits of a stand-in for Windows' own library."""
    files = [str(path) for path in art(tmp_path)]
    ordered = ("-m", "preflight", "check", *files, "--width", "40mm", "--format", "json")
    plain, without = python(*ordered, hidden=False), python(*ordered)
    assert without.returncode == plain.returncode
    assert without.stderr == plain.stderr == ""
    told = verdicts(without)
    assert len(told) == len(files) == 4
    assert told == verdicts(plain)
    assert [verdict for name, verdict, _ in told if "cut" in name] == ["unchecked"]


def test_what_is_in_force_there_is_said(python, tmp_path: Path) -> None:
    done = python("-m", "preflight", "check", str(art(tmp_path)[0]), "--width", "40mm", "--verbose")
    said = " ".join((done.stdout + done.stderr).split())
    assert "in a child process of its own, started afresh" in said
    assert "memory: 2 GB for one file, held by the system" in said
    assert "Landlock" not in said
    assert "Traceback" not in said
