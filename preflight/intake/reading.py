"""What goes wrong while a customer's file is being read, said in plain words and with the file's name."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from preflight.errors import IntakeError

_GONE = "it went away while it was being read"
_LOOK = "Check what moves it, try again."


@contextmanager
def reading(path: Path, smaller: str = "Send it smaller.") -> Iterator[None]:
    """Put a file's name on every refusal inside, and make one of what the system raises.

    Parameters
    ----------
    path
        The customer's file.
    smaller
        The next step when memory is short.

    Raises
    ------
    IntakeError
        In the place of a refusal without a name, of want of memory, and of a file that is no longer there.
    """
    try:
        yield
    except IntakeError as error:
        if not path.is_file():
            raise IntakeError(_GONE, _LOOK, file=str(path)) from error
        error.file = str(path)
        raise
    except MemoryError as error:
        raise IntakeError("there is not enough memory to read or draw it", smaller, file=str(path)) from error
    except OSError as error:
        raise IntakeError(_GONE, _LOOK, file=str(path)) from error
