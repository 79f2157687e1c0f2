"""A filter of system calls (seccomp) by ctypes: what no picture ever needs is answered with "not permitted".

It closes what Landlock leaves open: every kind of socket, starting programs, signals to and memory of other
processes, modes and owners of files, and the rarely used corners of the kernel. A list of what is refused, not of
what is allowed: the libraries and the C library may change what they ordinarily use.

Sources: the kernel's ``include/uapi/linux/seccomp.h``, ``filter.h``, ``audit.h``; numbers from ``asm/unistd_64.h``
(x86-64) and ``asm-generic/unistd.h`` (64-bit ARM); those after 450 from memory.
"""

from __future__ import annotations

import ctypes
import errno
import os
import struct
from collections.abc import Iterator

from preflight.child.clibrary import prctl

_SET_SECCOMP, _FILTER = 22, 2
#: By machine: the kernel's name for it, and the column of the tables below.
_MACHINES = {"x86_64": (0xC000003E, 0), "aarch64": (0xC00000B7, 1)}
_X32 = 0x40000000  #: the second set of numbers on x86-64
_NUMBER, _MACHINE, _FIRST = 0, 4, 16  #: where ``struct seccomp_data`` keeps them
_LOAD, _IF_EQUAL, _IF_ABOVE, _IF_BIT, _RETURN = 0x20, 0x15, 0x35, 0x45, 0x06
_ALLOW, _KILL = 0x7FFF0000, 0x80000000
_THREAD = 0x00010000  #: CLONE_THREAD

_NETWORK = {"socket": (41, 198)}
_PROGRAMS = {"execve": (59, 221), "execveat": (322, 281), "fork": (57, None), "vfork": (58, None)}
_OTHERS = {
    "kill": (62, 129), "tkill": (200, 130), "rt_sigqueueinfo": (129, 138), "rt_tgsigqueueinfo": (297, 240),
    "pidfd_open": (434, 434), "pidfd_send_signal": (424, 424), "pidfd_getfd": (438, 438), "ptrace": (101, 117),
    "process_vm_readv": (310, 270), "process_vm_writev": (311, 271), "process_madvise": (440, 440),
    "kcmp": (312, 272), "shmget": (29, 194), "shmat": (30, 196), "semget": (64, 190), "msgget": (68, 186),
    "mq_open": (240, 180),
}  # fmt: skip
_ATTRIBUTES = {
    "chmod": (90, None), "fchmod": (91, 52), "fchmodat": (268, 53), "fchmodat2": (452, 452), "chown": (92, None),
    "fchown": (93, 55), "lchown": (94, None), "fchownat": (260, 54), "utime": (132, None), "utimes": (235, None),
    "utimensat": (280, 88), "futimesat": (261, None), "setxattr": (188, 5), "lsetxattr": (189, 6),
    "fsetxattr": (190, 7), "setxattrat": (463, 463), "removexattr": (197, 14), "lremovexattr": (198, 15),
    "fremovexattr": (199, 16), "removexattrat": (466, 466), "mknod": (133, None), "mknodat": (259, 33),
}  # fmt: skip
_KERNEL = {
    "io_uring_setup": (425, 425), "io_uring_enter": (426, 426), "io_uring_register": (427, 427), "bpf": (321, 280),
    "perf_event_open": (298, 241), "userfaultfd": (323, 282), "keyctl": (250, 219), "add_key": (248, 217),
    "request_key": (249, 218), "mount": (165, 40), "umount2": (166, 39), "move_mount": (429, 429),
    "open_tree": (428, 428), "fsopen": (430, 430), "fsconfig": (431, 431), "fsmount": (432, 432),
    "fspick": (433, 433), "mount_setattr": (442, 442), "unshare": (272, 97), "setns": (308, 268),
    "pivot_root": (155, 41), "chroot": (161, 51), "open_by_handle_at": (304, 265), "init_module": (175, 105),
    "finit_module": (313, 273), "delete_module": (176, 106), "kexec_load": (246, 104), "kexec_file_load": (320, 294),
    "reboot": (169, 142), "swapon": (167, 224), "swapoff": (168, 225), "acct": (163, 89), "quotactl": (179, 60),
    "fanotify_init": (300, 262), "personality": (135, 92),
}  # fmt: skip
_CLONE, _CLONE3 = (56, 220), (435, 435)
_TGKILL, _PRLIMIT = (234, 131), (302, 261)


def refused(machine: str, *, programs: bool) -> dict[str, int]:
    """Names and numbers of the calls that are refused whatever their arguments.

    Parameters
    ----------
    machine
        As ``os.uname`` tells it.
    programs
        Whether other programs may be started.
    """
    column = _MACHINES[machine][1]
    tables = (_NETWORK, _OTHERS, _ATTRIBUTES, _KERNEL) + (() if programs else (_PROGRAMS,))
    numbers = {name: pair[column] for table in tables for name, pair in table.items()}
    return {name: number for name, number in numbers.items() if number is not None}


def install(*, programs: bool) -> None:
    """Refuse them from now on, in this thread and all that it starts. Needs ``no_new_privs``.

    Parameters
    ----------
    programs
        Whether other programs may be started.

    Raises
    ------
    OSError
        When the kernel refuses, or the machine is of a kind whose numbers are not known here.
    """
    machine = os.uname().machine
    if machine not in _MACHINES or struct.calcsize("P") != 8:
        raise OSError(f"no filter is known for {machine}")
    program = b"".join(_program(machine, programs))
    code = ctypes.create_string_buffer(program, len(program))
    descriptor = struct.pack("HxxxxxxP", len(program) // 8, ctypes.addressof(code))
    prctl(_SET_SECCOMP, _FILTER, descriptor)


def _program(machine: str, programs: bool) -> Iterator[bytes]:
    """The filter's instructions. Each test jumps over the answer behind it when it does not hold."""
    kernel_name, column = _MACHINES[machine]
    no = _refusal(errno.EPERM)
    yield from (_step(_LOAD, _MACHINE), _step(_IF_EQUAL, kernel_name, 1, 0), _step(_RETURN, _KILL))
    yield _step(_LOAD, _NUMBER)
    if machine == "x86_64":
        yield from (_step(_IF_ABOVE, _X32, 0, 1), no)
    for number in refused(machine, programs=programs).values():
        yield from (_step(_IF_EQUAL, number, 0, 1), no)
    # A signal to a thread of this process is how a library ends itself; a limit of this process is ours to lower.
    yield from _unless(_TGKILL[column], os.getpid(), no)
    yield from _unless(_PRLIMIT[column], 0, no)
    if not programs:
        # Threads are wanted, processes are not. The newer call hides its flags: told that it is missing, the C
        # library takes the older one.
        yield from (_step(_IF_EQUAL, _CLONE3[column], 0, 1), _refusal(errno.ENOSYS))
        yield from (_step(_IF_EQUAL, _CLONE[column], 0, 4), _step(_LOAD, _FIRST))
        yield from (_step(_IF_BIT, _THREAD, 1, 0), no, _step(_RETURN, _ALLOW))
    yield _step(_RETURN, _ALLOW)


def _unless(number: int, value: int, no: bytes) -> Iterator[bytes]:
    """Refuse a call unless its first argument (the lower half is enough for a process) has that value."""
    yield from (_step(_IF_EQUAL, number, 0, 4), _step(_LOAD, _FIRST))
    yield from (_step(_IF_EQUAL, value, 1, 0), no, _step(_RETURN, _ALLOW))


def _refusal(number: int) -> bytes:
    return _step(_RETURN, 0x00050000 | number)


def _step(code: int, value: int, yes: int = 0, otherwise: int = 0) -> bytes:
    return struct.pack("HBBI", code, yes, otherwise, value)
