"""One page in its file: looked through once, and written anew as often as a drawing needs it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

import pikepdf

from preflight.errors import IntakeError
from preflight.intake.head import SAVE_AGAIN, unreadable
from preflight.intake.pdf.document import Document
from preflight.intake.pdf.extract import one_page
from preflight.intake.pdf.facts import PageFacts, read_page
from preflight.intake.pdf.library import ODD_VALUES, opened
from preflight.intake.pdf.matrix import Rect
from preflight.intake.pdf.values import Key
from preflight.intake.pdf.whole import check_pictures

Got = TypeVar("Got")


@dataclass(slots=True)
class PageFile:
    """A page of a file on disk. Holds no file open between calls.

    Every method raises IntakeError, with the file's name, when the file is damaged or too complex to read safely.
    """

    path: Path
    index: int  #: from 0
    document: Document
    window: Rect | None = None  #: the part of the page that is the artwork, upright millimetres; None: all of it
    _looked: PageFacts | None = field(default=None, repr=False)
    _checked: bool = field(default=False, repr=False)

    def look(self) -> PageFacts:
        """What the page's objects say; read when first asked for."""
        if self._looked is None:
            self._looked = self._in_file(lambda pdf: read_page(pdf, self.index, self.document, self.window))
        return self._looked

    def cut(self, window: Rect) -> PageFile:
        """The same page, of which only a part is the artwork."""
        return PageFile(self.path, self.index, self.document, window, _checked=self._checked)

    def written(self, edit: Callable[[pikepdf.Pdf], None] | None = None, drop: Iterable[Key] = ()) -> bytes:
        """The page as a file of its own; see ``extract.one_page``."""
        box = self.look().box
        return self._in_file(lambda pdf: one_page(pdf, self.index, box, self.document.layers, edit, drop))

    def check_pictures(self) -> None:
        """See whether the pictures of the page are all there: their data are unpacked for it, once."""
        keys = self.look().picture_keys
        if keys and not self._checked:
            self._in_file(lambda pdf: check_pictures(pdf, keys))
            self._checked = True

    @contextmanager
    def naming(self) -> Iterator[None]:
        """Put the file's name on what is raised inside, and turn what a damaged file raises into plain words."""
        try:
            yield
        except IntakeError as error:
            error.file = str(self.path)
            raise
        except ODD_VALUES as error:
            raise self._fault("part of what the page shows is damaged", SAVE_AGAIN) from error
        except OSError as error:
            raise self._fault("it went away while it was being read", "Check what moves it, try again.") from error
        except MemoryError as error:
            raise self._fault("there is not enough memory to read or draw it", "Send it smaller.") from error

    def _in_file(self, read: Callable[[pikepdf.Pdf], Got]) -> Got:
        with self.naming(), opened(self.path) as file:
            return read(file.pdf)

    def _fault(self, what: str, next_step: str) -> IntakeError:
        error = unreadable(what, next_step)
        error.file = str(self.path)
        return error
