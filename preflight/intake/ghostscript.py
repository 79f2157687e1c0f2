"""Ghostscript as a program of its own: found, run in a private folder, never linked.

With all its precautions on, it still reads and writes anything under the folder for temporary files (measured): each
run gets a folder of its own for that.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import weakref
from pathlib import Path

#: Names of the program's command, by system.
COMMANDS = ("gswin64c", "gswin32c") if sys.platform == "win32" else ("gs",)
_ALWAYS = ("-dSAFER", "-dBATCH", "-dNOPAUSE", "-dNOPROMPT")
_PASSED_ON = ("PATH", "SYSTEMROOT", "LANG", "LC_ALL", "LD_LIBRARY_PATH")
_SAID = "ghostscript.txt"
_MOST_SAID = 1 << 20


class Stopped(Exception):  # noqa: N818 - it tells of an end, and the caller makes an error of it
    """Ghostscript did not do it; the text is a clause that follows its name.

    Parameters
    ----------
    how
        What happened.
    said
        What it printed.
    """

    def __init__(self, how: str, said: str = "") -> None:
        super().__init__(how)
        self.said = said


def command() -> str | None:
    """Where Ghostscript is; None where it is not installed."""
    return next((found for name in COMMANDS if (found := shutil.which(name))), None)


class Folder:
    """A folder that only this run uses; it goes away with this object.

    Raises
    ------
    OSError
        When there is no place for one.

    Notes
    -----
    In the child process of a file no folder can be made, and none is needed: the one for temporary files is private
    already, and its owner empties it.
    """

    def __init__(self, prefix: str) -> None:
        try:
            self.path = Path(tempfile.mkdtemp(prefix=prefix))
        except PermissionError:
            self.path = Path(tempfile.gettempdir())
        else:
            weakref.finalize(self, shutil.rmtree, self.path, ignore_errors=True)


def run(program: str, arguments: list[str], folder: Path, seconds: float) -> str:
    """Run it to its end.

    Parameters
    ----------
    program
        As ``command`` found it.
    arguments
        What it is told besides the precautions.
    folder
        Where it works, and keeps its temporary files.
    seconds
        On the clock.

    Returns
    -------
    str
        What it printed.

    Raises
    ------
    Stopped
        When it does not start, ends with an error, or takes too long.
    """
    said_to = folder / _SAID
    try:
        with said_to.open("wb") as said:
            running = subprocess.Popen(
                [program, *_ALWAYS, *arguments],
                cwd=folder,
                env=_surroundings(folder),
                stdin=subprocess.DEVNULL,
                stdout=said,
                stderr=subprocess.STDOUT,
            )
    except OSError:
        raise Stopped("does not start") from None
    try:
        status = running.wait(seconds)
    except subprocess.TimeoutExpired:
        _end(running)
        raise Stopped(f"took more than {seconds:.0f} seconds") from None
    with said_to.open("rb") as printed:
        text = printed.read(_MOST_SAID).decode("utf-8", "replace")
    if status:
        raise Stopped("stopped half-way", text)
    return text


def _end(running: subprocess.Popen[bytes]) -> None:
    """End it. In the child process of a file that is not allowed: the limit on the processor's time ends it there."""
    try:
        running.kill()
    except OSError:
        return
    running.wait()


def _surroundings(folder: Path) -> dict[str, str]:
    kept = {name: os.environ[name] for name in _PASSED_ON if name in os.environ}
    return kept | {name: str(folder) for name in ("TMPDIR", "TEMP", "TMP", "HOME")}
