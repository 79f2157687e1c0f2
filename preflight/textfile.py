"""Read a small text file that a person wrote, or say plainly why not."""

from __future__ import annotations

import os
from pathlib import Path

from preflight.errors import SettingsError

#: No honest settings file comes near it; a ticket may come from a stranger.
MOST_BYTES = 256 * 1024


def read_text(path: str | os.PathLike[str]) -> str:
    """Read a file in UTF-8, with or without a byte order mark; lines end in a plain newline.

    Raises
    ------
    SettingsError
        When there is no such file, it is a folder, may not be read, is larger than ``MOST_BYTES`` or is not UTF-8.
    """
    name = os.fspath(path)
    return _decode(_read(Path(path), name), name)


def _read(path: Path, name: str) -> bytes:
    try:
        if path.is_dir():
            raise SettingsError("this is a folder, not a file", "Name the file inside it.", file=name)
        if not path.is_file():  # neither a pipe nor a device: reading those may never end
            raise SettingsError("there is no such file", "Check the name and the folder.", file=name)
        with path.open("rb") as stream:
            size = os.fstat(stream.fileno()).st_size  # room for the most there may be would be made anew for each file
            raw = stream.read(min(size, MOST_BYTES) + 1)
    except PermissionError:
        step = "Give your user the right to read it."
        raise SettingsError("your user may not read this file", step, file=name) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise SettingsError(f"the file cannot be read ({reason})", "Check the name and the disk.", file=name) from None
    if len(raw) > MOST_BYTES:
        what = f"the file is larger than {MOST_BYTES // 1024} kB"
        raise SettingsError(what, "Check that it is the file you meant.", file=name)
    return raw


def _decode(raw: bytes, name: str) -> str:
    step = "Save it again as UTF-8 (your editor asks for the encoding under 'Save as')."
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\x00" in raw[:4]:
        raise SettingsError("the file is saved as UTF-16, not as UTF-8", step, file=name)
    try:
        return raw.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise SettingsError("a character here is not saved as UTF-8", step, file=name, line=line) from None
