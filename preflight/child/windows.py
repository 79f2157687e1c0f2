"""A job object by ctypes: the limits that Windows holds for one process.

Written from memory of Microsoft's "Job Objects" and ``JOBOBJECT_EXTENDED_LIMIT_INFORMATION``; not yet run on Windows.
"""

from __future__ import annotations

import ctypes
import sys
from typing import Any

from preflight.child.limits import Limits

_PROCESS_TIME, _ACTIVE_PROCESSES, _PROCESS_MEMORY, _DIE_QUIETLY = 0x2, 0x8, 0x100, 0x400
_EXTENDED = 9
_NO_DIALOGUES = 0x1 | 0x2 | 0x8000
_TICKS = 10_000_000  #: of 100 ns, in a second


class _Basic(ctypes.Structure):
    _fields_ = (
        ("per_process_user_time", ctypes.c_int64),
        ("per_job_user_time", ctypes.c_int64),
        ("flags", ctypes.c_uint32),
        ("minimum_working_set", ctypes.c_size_t),
        ("maximum_working_set", ctypes.c_size_t),
        ("active_processes", ctypes.c_uint32),
        ("affinity", ctypes.c_size_t),
        ("priority_class", ctypes.c_uint32),
        ("scheduling_class", ctypes.c_uint32),
    )


class _Extended(ctypes.Structure):
    _fields_ = (
        ("basic", _Basic),
        ("io", ctypes.c_uint64 * 6),
        ("process_memory", ctypes.c_size_t),
        ("job_memory", ctypes.c_size_t),
        ("peak_process_memory", ctypes.c_size_t),
        ("peak_job_memory", ctypes.c_size_t),
    )


def confine(limits: Limits, *, programs: bool) -> list[str]:
    """Put this process into a job with limits, for good; a clause for each protection in force, none when refused.

    Parameters
    ----------
    programs
        Whether another program may be started.
    """
    if sys.platform == "win32":
        return confined(ctypes.WinDLL("kernel32", use_last_error=True), limits, programs=programs)
    return []


def confined(kernel: Any, limits: Limits, *, programs: bool) -> list[str]:
    """The same with the system's library given."""
    kernel.SetErrorMode(_NO_DIALOGUES)
    kernel.CreateJobObjectW.restype = kernel.GetCurrentProcess.restype = ctypes.c_void_p
    job = ctypes.c_void_p(kernel.CreateJobObjectW(None, None))
    if not job.value:
        return []
    wanted = extended(limits, programs=programs)
    done = kernel.SetInformationJobObject(job, _EXTENDED, ctypes.byref(wanted), ctypes.sizeof(wanted))
    done = done and kernel.AssignProcessToJobObject(job, ctypes.c_void_p(kernel.GetCurrentProcess()))
    kernel.CloseHandle(job)  # without it nobody can loosen the limits; they last as long as the process
    if not done:
        return []
    return [
        f"memory: {limits.memory / 2**30:.3g} GB for one file, held by the system",
        f"time: {limits.cpu(limits.megapixels)} s of the processor at most, and {limits.wall():.0f} s and more on the "
        "clock",
        *([] if programs else ["programs: none is started"]),
    ]


def extended(limits: Limits, *, programs: bool) -> ctypes.Structure:
    """The limits as the system takes them."""
    wanted = _Extended()
    wanted.basic.flags = _PROCESS_TIME | _PROCESS_MEMORY | _DIE_QUIETLY
    wanted.basic.per_process_user_time = limits.cpu(limits.megapixels) * _TICKS
    wanted.process_memory = limits.memory
    if not programs:
        wanted.basic.flags |= _ACTIVE_PROCESSES
        wanted.basic.active_processes = 1
    return wanted
