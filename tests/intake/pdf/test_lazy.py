"""Nothing of this is paid for by the check of a picture."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[3]


def test_a_picture_is_opened_without_a_pdf_library(tmp_path):
    from PIL import Image

    Image.new("RGB", (9, 9)).save(tmp_path / "art.png")
    code = (
        "import sys, pathlib; from preflight.intake import open_artwork;"
        f"art = open_artwork(pathlib.Path({str(tmp_path / 'art.png')!r}), pixel_limit=10**6);"
        "list(art.strips());"
        "print([name for name in ('pikepdf', 'pypdfium2', 'pypdfium2_raw') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    assert done.stdout == "[]\n"


def test_facts_of_a_simple_page_are_cheap(make):
    """Loading the library apart: 2 ms on a machine on which 50 are allowed."""
    import time

    from tests.intake.pdf.making import look

    path = make(b"1 0 0 rg 0 0 9 9 re f " * 50)
    look(path)
    start = time.process_time()
    look(path)
    assert time.process_time() - start < 0.05
