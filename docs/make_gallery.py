"""Take pictures of the demo order's reports and write the page that shows them: ``python docs/make_gallery.py``.

PDF sheets are drawn with pypdfium2. Web pages need Chromium; without it their pictures stay as they are, and that is
said. ``--folder DIR`` writes there in place of ``docs/gallery``. Run it after a change of the reports' looks.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pypdfium2
from PIL import Image

ROOT = Path(__file__).resolve().parent.parent
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from preflight.demo import make_order  # noqa: E402

#: No picture is larger, bytes: they travel with every checkout.
LARGEST = 150_000
_BROWSERS = ("chromium", "chromium-browser", "google-chrome")
_QUIET = (
    "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--hide-scrollbars", "--force-device-scale-factor=1",
)  # fmt: skip
#: Name of the picture, page it is of, width and height of the window, and what it shows.
PAGES = (
    ("web-list", "index", 860, 1150, "The list of the whole order as a web page, one line for each artwork."),
    (
        "web-thin-lines",
        "garlic",
        860,
        1250,
        "The page of one artwork: answer, order, artwork and its marks.",
    ),
    ("web-phone", "seed-swap", 500, 1000, "The same kind of page in a narrow window."),
)
#: Name of the picture, artwork, sheet from 1, and what it shows.
SHEETS = (
    ("pdf-answer", "seed-swap", 1, "The first sheet: letterhead, answer, order, and the artwork with its marks."),
    ("pdf-points", "garlic", 2, "Point by point, with the place eight times as large as in print."),
    ("pdf-approval", "sunflower", 2, "What was checked and is fine, and the approval to sign."),
    ("pdf-shop", "moon", -1, "The sheet for the shop: limits, measurements, ink, cost and film."),
)  # fmt: skip


def main() -> int:
    """Make the pictures."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--folder", type=Path, default=ROOT / "docs" / "gallery")
    folder: Path = options.parse_args().folder
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as desk:
        order = Path(desk) / "order"
        list(make_order(order))
        for written in ("html", "pdf"):
            check(order, written)
        for name, artwork, number, _ in SHEETS:
            save(sheet(order / "reports" / f"{artwork}.pdf", number), folder / f"{name}.png")
        browser = next(filter(None, map(shutil.which, _BROWSERS)), None)
        if browser is None:
            sys.stderr.write("There is no Chromium here: the pictures of web pages stay as they are.\n")
            return 0
        for name, page, wide, high, _ in PAGES:
            save(screen(browser, order / "reports" / f"{page}.html", wide, high), folder / f"{name}.png")
    return 0


def check(order: Path, written: str) -> None:
    """Reports of the whole order, in a folder ``reports`` beside it."""
    artwork = sorted(each.name for each in order.iterdir() if each.suffix in (".png", ".jpg"))
    command = [sys.executable, "-m", "preflight", "check", *artwork, "--shop", "shop.toml"]
    command += ["--format", written, "--output", "reports"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, cwd=order, env=environment, capture_output=True, text=True, check=False)
    if done.stderr or done.returncode in (1, 2):
        raise RuntimeError(f"preflight failed: {done.stderr}")


def sheet(path: Path, number: int) -> Image.Image:
    """A sheet of a PDF; -1 is the last one."""
    pdf = pypdfium2.PdfDocument(path.read_bytes())
    at = len(pdf) - 1 if number < 0 else number - 1
    return pdf[at].render(scale=1.25).to_pil().convert("RGB")


def screen(browser: str, path: Path, wide: int, high: int) -> Image.Image:
    """What a window of that size shows of a web page."""
    with tempfile.TemporaryDirectory() as desk:
        shot = Path(desk) / "shot.png"
        command = [browser, *_QUIET, f"--user-data-dir={desk}/profile", f"--window-size={wide},{high}"]
        subprocess.run([*command, f"--screenshot={shot}", path.as_uri()], capture_output=True, check=True, timeout=120)
        with Image.open(shot) as picture:
            return picture.convert("RGB")


def save(picture: Image.Image, path: Path) -> None:
    """As a PNG that is not larger than ``LARGEST``: with fewer colours, then smaller."""
    while True:
        for colours in (256, 96, 48):
            picture.quantize(colours, dither=Image.Dither.NONE).save(path, optimize=True)
            if path.stat().st_size <= LARGEST:
                return
        picture = picture.resize((round(picture.width * 0.85), round(picture.height * 0.85)), Image.Resampling.LANCZOS)


if __name__ == "__main__":
    sys.exit(main())
