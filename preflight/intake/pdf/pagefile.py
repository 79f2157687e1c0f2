"""One page in its file: looked through once, and written anew as often as a drawing needs it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import field
from pathlib import Path
from typing import TypeVar

import pikepdf

from preflight.intake.head import SAVE_AGAIN, unreadable
from preflight.intake.pdf.document import Document
from preflight.intake.pdf.extract import one_page
from preflight.intake.pdf.facts import PageFacts, read_page
from preflight.intake.pdf.library import ODD_VALUES, opened
from preflight.intake.pdf.matrix import Rect
from preflight.intake.pdf.values import Key
from preflight.intake.pdf.whole import check_pictures
from preflight.intake.reading import reading
from preflight.records import dataclass

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
    _checked: bool = field(default=False, repr=False)  #: the pictures are all there
    _measured: bool = field(default=False, repr=False)  #: nothing on it unpacks without end

    def look(self) -> PageFacts:
        """What the page's objects say; read when first asked for."""
        if self._looked is None:
            self._looked = self._in_file(lambda pdf: read_page(pdf, self.index, self.document, self.window))
        return self._looked

    def cut(self, window: Rect) -> PageFile:
        """The same page, of which only a part is the artwork."""
        return PageFile(self.path, self.index, self.document, window, _checked=self._checked, _measured=self._measured)

    def written(self, edit: Callable[[pikepdf.Pdf], None] | None = None, drop: Iterable[Key] = ()) -> bytes:
        """The page as a file of its own; see ``extract.one_page``."""
        box, layers, check = self.look().box, self.document.layers, not self._measured
        data = self._in_file(lambda pdf: one_page(pdf, self.index, box, layers, edit, drop, check=check))
        self._measured = True
        return data

    def check_pictures(self) -> None:
        """See whether the pictures of the page are all there: their data are unpacked for it, once."""
        keys = self.look().picture_keys
        if keys and not self._checked:
            self._in_file(lambda pdf: check_pictures(pdf, keys))
            self._checked = True

    @contextmanager
    def naming(self) -> Iterator[None]:
        """Put the file's name on what is raised inside, and turn what a damaged file raises into plain words."""
        with reading(self.path):
            try:
                yield
            except ODD_VALUES as error:
                raise unreadable("part of what the page shows is damaged", SAVE_AGAIN) from error

    def _in_file(self, read: Callable[[pikepdf.Pdf], Got]) -> Got:
        with self.naming(), opened(self.path) as file:
            return read(file.pdf)
