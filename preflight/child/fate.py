"""How the end of a child is told: a reason in plain words and the next step."""

from __future__ import annotations

import signal

from preflight.child.hardening import TOO_MUCH_MEMORY
from preflight.child.job import MEMORY_SIGNS
from preflight.child.limits import Limits
from preflight.errors import ChildDied

_SAVE_AGAIN = "Open it in the program it was made in, save it again, and send the new file."
_SIMPLER = "Ask for a simpler export: flattened, at print size and 300 ppi."
#: Ends of a process that overran its time: the signal's number from memory where a system lacks the name.
_OUT_OF_TIME = -getattr(signal, "SIGXCPU", 24)
_KILLED = -getattr(signal, "SIGKILL", 9)
_ABORTED = -signal.SIGABRT
#: Share of the allowed memory from which an abort is put down to the want of it: the next piece did not fit.
_NEARLY = 0.7
#: Windows' codes (Microsoft's lists, from memory): not enough quota, which is what a job's limit on time leads to; and
#: no memory, commitment limit.
_WINDOWS_TIME = {1816, 0xC0000044}
_WINDOWS_MEMORY = {0xC0000017, 0xC000012D}


class End:
    """How a process ended.

    Parameters
    ----------
    code
        Exit status, or below zero the signal's number; None when nobody knows.
    cpu_seconds
        Time of the processor that it took, where known.
    peak
        Most memory that it took on top of its parent's, bytes, where known.
    """

    __slots__ = ("code", "cpu_seconds", "peak")

    def __init__(self, code: int | None, cpu_seconds: float | None, peak: int | None = None) -> None:
        self.code, self.cpu_seconds, self.peak = code, cpu_seconds, peak


class ChildFailed(Exception):  # noqa: N818 - it tells of a failure, and is one of the program's own
    """The program itself failed in the child.

    Parameters
    ----------
    name
        Of the exception.
    trace
        Where it was raised, for ``--verbose``.
    """

    def __init__(self, name: str, trace: str) -> None:
        self.name, self.trace = name, trace
        super().__init__(name)


def out_of_memory(limits: Limits) -> ChildDied:
    """Its work needs more memory than it may have."""
    return ChildDied(
        f"reading it needs more than {limits.memory / 2**30:.3g} GB of memory",
        f"{_SIMPLER} Or allow more with machine.memory_gb in the shop file.",
        how="memory",
    )


def out_of_time(seconds: float) -> ChildDied:
    """Its work takes too long."""
    return ChildDied(
        f"reading it takes longer than {seconds:.0f} seconds",
        f"{_SIMPLER} Or allow more with machine.seconds in the shop file.",
        how="time",
    )


def nonsense() -> ChildDied:
    """What it sent is no answer: a library may have been taken over by the file."""
    return ChildDied(
        "the process that read it gave an answer that makes no sense; the file may be made to do harm",
        "Do not open it in other programs. Ask the customer where it comes from.",
        how="nonsense",
    )


def died(end: End, said: str, limits: Limits, megapixels: float) -> ChildDied:
    """It ended without an answer.

    Parameters
    ----------
    end
        How its process ended.
    said
        What its libraries printed.
    megapixels
        Of the artwork, 0 while not known.
    """
    code = end.code
    unsigned = None if code is None else code % 2**32
    overran = code == _KILLED and (end.cpu_seconds or 0.0) >= limits.cpu(megapixels)
    if overran or code == _OUT_OF_TIME or unsigned in _WINDOWS_TIME:
        return out_of_time(limits.cpu(megapixels))
    lower = said.lower()
    if code == TOO_MUCH_MEMORY or unsigned in _WINDOWS_MEMORY or any(sign in lower for sign in MEMORY_SIGNS):
        return out_of_memory(limits)
    if code == _ABORTED and (end.peak or 0) >= _NEARLY * limits.memory:  # libraries that say nothing when it is short
        return out_of_memory(limits)
    if code == _KILLED:
        return ChildDied(
            "the process that read it was ended from outside, often because this computer's memory ran out",
            "Close other programs, then check it again with --jobs 1.",
            how="killed",
        )
    return ChildDied(f"the decoder crashed while reading it ({_cause(code)})", _SAVE_AGAIN, how="crash")


def _cause(code: int | None) -> str:
    if code is None:
        return "no reason known"
    if code >= 0:
        return f"status {code:#x}" if code > 255 else f"status {code}"
    try:
        return signal.Signals(-code).name
    except ValueError:
        return f"signal {-code}"
