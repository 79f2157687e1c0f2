"""When a run of ``preflight`` cannot end as it should: one sentence on standard error, and the exit status for it.

Imported only then. An exception of the option parser is told apart by what it carries.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import sys
from collections.abc import Sequence
from difflib import get_close_matches

from preflight.model import ExitStatus
from preflight.report.words import STAND_IN
from preflight.report.words import sentence as tidy

#: The commands under each.
_UNDER = {
    "preflight": ("check", "rules", "shop", "demo", "watch", "calibrate", "stock"),
    "preflight calibrate": ("record", "fit"),
}
#: What standard output says when nobody listens any more, and when there is no room.
_UNHEARD = (errno.EPIPE, errno.EINVAL) if os.name == "nt" else (errno.EPIPE,)
_NO_ROOM = (errno.ENOSPC, errno.EDQUOT if hasattr(errno, "EDQUOT") else errno.ENOSPC, errno.EIO, errno.EFBIG)


def complain(sentence: str, status: ExitStatus) -> int:
    """Say it on standard error; give that exit status, even when the sentence cannot be written."""
    if hasattr(sys.stderr, "reconfigure"):
        sys.stderr.reconfigure(errors=STAND_IN)
    with contextlib.suppress(OSError):
        sys.stderr.write(f"preflight: {tidy(sentence)}\n")
        sys.stderr.flush()
    return status


def reworded(slip: Exception, arguments: Sequence[str]) -> str:
    """What the option parser has to say of these arguments, in our words."""
    message = str(getattr(slip, "message", slip))
    option = getattr(slip, "option_name", None)
    named = _named(arguments)
    if option is not None:
        return _about_option(option, message, getattr(slip, "possibilities", ()), named)
    command = re.search(r"command '([^']*)'", message)
    if command is not None:
        near = get_close_matches(command[1], _UNDER.get(named, ()), n=1)
        meant = f" Did you mean {near[0]}?" if near else ""
        return f"there is no command '{command[1]}'.{meant} '{named} --help' lists them."
    if getattr(getattr(slip, "param", None), "required", False):
        if named == "preflight watch":
            return "two folders are needed: where files come in, and where answers go. Write: preflight watch IN OUT"
        return "no file is named. Write the files to check, such as: preflight check art.png --width 280mm"
    surplus = re.search(r"\(([^()]+)\)$", message)
    if surplus is not None:
        return f"'{surplus[1]}' is too much here. '{named} --help' shows what it takes."
    return f"{message.rstrip('.')}. '{named} --help' tells more."


def _named(arguments: Sequence[str]) -> str:
    """The command as it was named, as far as there is one of that name: ``preflight calibrate fit``."""
    named = "preflight"
    for word in arguments:
        if word not in _UNDER.get(named, ()):
            break
        named = f"{named} {word}"
    return named


def _about_option(option: str, message: str, possible: Sequence[str] | None, named: str) -> str:
    """What is wrong with an option; ``possible``: what may have been meant by one that does not exist."""
    if "No such option" not in message:
        needs = "needs a value" if "requires" in message else "takes no value"
        return f"{option} {needs}. '{named} --help' shows examples."
    near = get_close_matches(option, possible or (), n=1)
    meant = f" Did you mean {near[0]}?" if near else ""
    return f"there is no option {option}.{meant} '{named} --help' lists them."


def failed(failure: Exception, verbose: bool) -> int:
    """The program itself failed, or nobody takes its answer: say so, and where when asked."""
    number = failure.errno if isinstance(failure, OSError) else None
    if number in _UNHEARD or number in _NO_ROOM:
        _silence()
    if number in _UNHEARD:
        return ExitStatus.TOOL_FAILED  # the reader of the pipe went away, and knows it
    if number in _NO_ROOM:
        told = f"the answer could not be written ({failure.args[1]}). Make room, then run it again."
        return complain(told, ExitStatus.TOOL_FAILED)
    if verbose:
        import traceback

        traceback.print_exception(failure)
    more = "Report what stands above." if verbose else "Run it again with --verbose and report what that prints."
    return complain(f"the program failed ({type(failure).__name__}). {more}", ExitStatus.TOOL_FAILED)


def _silence() -> None:
    """Let what is still to be written go nowhere, or the end of Python would complain once more."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
