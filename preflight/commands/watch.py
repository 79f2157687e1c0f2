"""``preflight watch``: read the options, make sure that everything can be written, and let the watcher work."""

from __future__ import annotations

import contextlib
import os
import re
import signal
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from types import FrameType
from uuid import uuid4

from preflight.child import Limits, Workshop
from preflight.commands.check import STATUS, checker_of
from preflight.commands.check import Request as CheckRequest
from preflight.commands.numbers import whole_number
from preflight.commands.output import standard_output
from preflight.commands.reportlanguage import report_language
from preflight.errors import UsageError
from preflight.jobs import MOST_JOBS
from preflight.language import ENGLISH
from preflight.model import ExitStatus, Verdict
from preflight.overnight import work
from preflight.overnight.lock import Lock
from preflight.overnight.morning import HTML
from preflight.overnight.placing import VERDICTS
from preflight.overnight.settings import ARCHIVE, FORMATS, ORIGINALS, USUAL, Settings
from preflight.overnight.telling import PAGED
from preflight.overnight.watcher import Watcher
from preflight.records import dataclass
from preflight.report.words import many, plain
from preflight.rulebook import load_rulebook

_TIME = re.compile(r"(\d{1,6}(?:\.\d{1,3})?)(s|min|h)")
_SECONDS = {"s": 1.0, "min": 60.0, "h": 3600.0}
_LONGEST = 24 * 3600.0


@dataclass(frozen=True, slots=True)
class Request:
    """The options of ``preflight watch`` as they were written."""

    folder: str
    out: str
    once: bool = False
    jobs: str = "1"
    every: str = "5s"
    settle: str = "10min"
    originals: str = "move"
    formats: str = ",".join(USUAL)
    wait_for_ticket: bool = False
    width: str | None = None
    height: str | None = None
    size_of: str | None = None
    copies: str | None = None
    garments: Sequence[str] = ()
    mode: str | None = None
    shop: str | None = None
    rules: str | None = None
    language: str | None = None


def watch(request: Request) -> ExitStatus:
    """Answer what comes into a folder, until a signal ends it; with ``once`` what is there.

    Raises
    ------
    UsageError
        For every slip in the options, for folders that cannot be used, and when another watcher is at work there.
    """
    settings = _settings(request)
    _make(settings)
    status = _Status()
    with Lock(settings.out) as lock:
        _try(settings)
        limits = Limits.of(settings.checker.shop)
        Workshop(limits).warm_up(settings.checker.separation)
        watcher = Watcher(settings, lambda: Workshop(limits, idle=status.pulse), lock, status.show)
        status.watcher = watcher
        with _signals(watcher), status:
            watcher.run(once=request.once)
    _say_end(watcher, settings)
    return _status(watcher) if request.once else ExitStatus.READY


def _settings(request: Request) -> Settings:
    formats = tuple(dict.fromkeys(name.strip() for name in request.formats.split(",")))
    for name in formats:
        if name not in FORMATS:
            raise UsageError(
                f"--formats {name} is not known", f"Choose from {', '.join(FORMATS)}, with commas between."
            )
    if request.originals not in ORIGINALS:
        raise UsageError(f"--originals {request.originals} is not known", f"Choose one of {', '.join(ORIGINALS)}.")
    checker = checker_of(
        CheckRequest(
            files=(),
            width=request.width,
            height=request.height,
            size_of=request.size_of,
            copies=request.copies,
            garments=request.garments,
            mode=request.mode,
            shop=request.shop,
            rules=request.rules,
        )
    )
    language = report_language(request.language, "html", checker.shop)
    extra = None if request.rules is None else Path(request.rules)
    pages = None if language == ENGLISH else load_rulebook(checker.shop, extra, language)
    checker.pictures = not set(PAGED).isdisjoint(formats)
    root, out = Path(request.folder), Path(request.out)
    _refuse(root, out)
    return Settings(
        root=root,
        out=out,
        checker=checker,
        formats=formats,
        originals=request.originals,
        jobs=whole_number("--jobs", request.jobs, MOST_JOBS),
        every=_seconds("--every", request.every, 0.5),
        settle=_seconds("--settle", request.settle, 0.0),
        wait_for_ticket=request.wait_for_ticket,
        pages=pages,
    )


def _seconds(option: str, text: str, least: float) -> float:
    found = _TIME.fullmatch(text)
    seconds = float(found[1]) * _SECONDS[found[2]] if found else -1.0
    if not least <= seconds <= _LONGEST:
        raise UsageError(
            f"{option} {text} is no time that can be used",
            f"Write one such as 5s, 10min or 1h, from {least:g}s to 24h.",
        )
    return seconds


def _refuse(root: Path, out: Path) -> None:
    """Raise UsageError when the two folders cannot be these."""
    if not root.is_dir():
        raise UsageError("there is no such folder to watch", "Make it first, or name another one.", file=str(root))
    if out.exists() and not out.is_dir():
        raise UsageError("this is a file", "Name a folder for the answers.", file=str(out))
    here, there = root.resolve(), out.resolve()
    if _within(there, here) or _within(here, there):
        what = "the folder of answers and the watched folder lie one in the other"
        raise UsageError(what, f"Name a folder for the answers outside {root}.", file=str(out))


def _within(one: Path, other: Path) -> bool:
    """Whether a folder is another one or lies in it, by whatever name."""
    for folder in (one, *one.parents):
        with contextlib.suppress(OSError):
            if folder.samefile(other):
                return True
    return False


def _make(settings: Settings) -> None:
    try:
        settings.out.mkdir(exist_ok=True)
    except FileNotFoundError:
        step = "Make that folder first, or name another one."
        raise UsageError(f"there is no folder {settings.out.parent}", step, file=str(settings.out)) from None
    except OSError as slip:
        raise _cannot(settings.out, slip) from None


def _try(settings: Settings) -> None:
    """Write and take away a file in every folder that is written to later; raises UsageError that names the folder."""
    names = [work.NAME, *VERDICTS, *([ARCHIVE] if settings.originals == "archive" else [])]
    folders = [settings.out, *(settings.out / name for name in names)]
    if settings.originals != "keep":
        folders.append(settings.root)
    for folder in folders:
        probe = folder / f".preflight-{uuid4().hex[:12]}.tmp"
        try:
            folder.mkdir(exist_ok=True)
            probe.write_bytes(b"preflight looks whether it can write here\n")
        except OSError as slip:
            raise _cannot(folder, slip) from None
        finally:
            with contextlib.suppress(OSError):
                probe.unlink()
    try:
        os.listdir(settings.root)  # noqa: PTH208 - whether it may be read
    except OSError as slip:
        raise _cannot(settings.root, slip) from None


def _cannot(folder: Path, slip: OSError) -> UsageError:
    what = f"the folder cannot be used ({slip.strerror or slip})"
    return UsageError(
        what, "Give your user the right to write there, make room, or name another one.", file=str(folder)
    )


@contextlib.contextmanager
def _signals(watcher: Watcher) -> Iterator[None]:
    """The first signal lets what is in hand be finished; the second gives it back at once."""

    def heard(_number: int, _frame: FrameType | None) -> None:
        if watcher.stopping:
            raise KeyboardInterrupt
        watcher.stop()

    before = {each: signal.signal(each, heard) for each in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


class _Status:
    """One live line on standard error, on a terminal only."""

    def __init__(self) -> None:
        self.watcher: Watcher | None = None
        self._on = sys.stderr.isatty()
        self._line = ""

    def __enter__(self) -> _Status:
        return self

    def __exit__(self, *_: object) -> None:
        self._write("")
        if self._on:
            sys.stderr.write("\r")
            sys.stderr.flush()

    def pulse(self) -> None:
        """Time goes by in the workshop."""
        if self.watcher is not None:
            self.watcher.pulse()

    def show(self, watcher: Watcher) -> None:
        """Tell what it is doing."""
        if not self._on:
            return
        hand = sorted(item.rel for item in watcher.in_hand.values())
        doing = f"checking {plain(hand[0])}" if hand else "waiting for files"
        more = f" and {len(hand) - 1} more" if len(hand) > 1 else ""
        yet = len(watcher.not_yet())
        self._write(f"{_tally(watcher)}{f', {yet} not yet' if yet else ''}; {doing}{more}")

    def _write(self, line: str) -> None:
        width = 79
        line = line if len(line) <= width else f"{line[: width - 1]}…"
        if self._on and line != self._line:
            with contextlib.suppress(OSError, UnicodeError):
                sys.stderr.write(f"\r{line.ljust(len(self._line))}")
                sys.stderr.flush()
            self._line = line


def _tally(watcher: Watcher) -> str:
    told = ", ".join(f"{watcher.verdicts[name]} {name}" for name in VERDICTS if watcher.verdicts[name])
    return f"{many(watcher.verdicts.total(), 'file')} answered" + (f": {told}" if told else "")


def _say_end(watcher: Watcher, settings: Settings) -> None:
    stream = standard_output()
    stream.write(f"{_tally(watcher)}.\n")
    for name, why in list(watcher.not_yet().items())[:20]:
        stream.write(f"Not yet: {plain(name)}: {plain(why)}.\n")
    stream.write(f"The morning sheet: {plain(str(settings.out / HTML))}\n")


def _status(watcher: Watcher) -> ExitStatus:
    told = [STATUS[Verdict(name)] for name in watcher.verdicts]
    if watcher.not_yet():
        told.append(ExitStatus.UNCHECKED)  # what is not answered must not pass for ready
    return max(told, default=ExitStatus.READY)
