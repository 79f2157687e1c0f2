"""The order of the demo: the allotment gardeners of Thistle Lane want shirts and aprons for their summer fair.

People, shop and prices are invented.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from PIL import Image

from preflight.demo import artworks
from preflight.errors import UsageError
from preflight.records import dataclass
from preflight.units import MM_PER_INCH

NAVY = "#1f2a44"
BLACK = "#1d1d1f"
#: Opacity, of 255, below which nothing is seen.
_FAINT = 13

SHOP = """\
# The shop of the demo. Everything in it is invented; `preflight shop my-shop.toml` writes one with every setting.
name = "Corner Press"
currency = "EUR"

[letterhead]
lines = ["3 Mill Yard"]

[prices]
colour_ink_per_kg = 88.0
white_ink_per_kg = 72.0
powder_per_kg = 34.0
film_per_m = 1.05

[garments]
"apron green" = "#2f4a3a"
"""


@dataclass(frozen=True, slots=True)
class Piece:
    """One artwork of the order.

    ``ppi`` is that of the picture; ``width_mm`` is the ordered width where it is not the size at which it was drawn.
    """

    name: str
    draw: Callable[[], Image.Image]
    copies: int
    garment: str
    width_mm: int | None = None
    ppi: float = 300.0

    def ticket(self, picture: Image.Image) -> str:
        """The ticket that lies beside it, for the width of the visible artwork in whole millimetres."""
        width = self.width_mm or int(_visible_width(picture) * MM_PER_INCH / self.ppi)
        return (
            f'width = "{width}mm"\ncopies = {self.copies}\ngarments = ["{self.garment}"]\nmode = "fine"\n'
            'reference = "Thistle Lane summer fair"\n'
        )


PIECES = (
    Piece("crest.png", artworks.beetroot_crest, 24, "apron green"),
    Piece("sunflower.png", artworks.sunflower, 12, NAVY),
    Piece("bee.jpg", artworks.bee_on_white, 12, NAVY),
    Piece("watering-can.png", artworks.watering_can_on_squares, 6, NAVY),
    Piece("carrots.png", artworks.carrot_small, 8, NAVY, width_mm=220, ppi=72.0),
    Piece("moon.png", artworks.moon_with_glow, 10, BLACK),
    Piece("garlic.png", artworks.garlic_drawing, 10, BLACK),
    Piece("aubergine.png", artworks.aubergine_dark, 10, BLACK),
    Piece("seed-swap.png", artworks.seed_swap_sign, 30, "apron green"),
)


def make_order(folder: Path) -> Iterator[Path]:
    """Write shop file, artworks and tickets; give the path of each artwork once it is there.

    Parameters
    ----------
    folder
        Made when it is not there; it must be empty otherwise.

    Raises
    ------
    UsageError
        When there is something in it, or it cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            raise UsageError(
                "this folder is not empty", "Name a new one, such as: preflight demo try-out", file=str(folder)
            )
        (folder / "shop.toml").write_text(SHOP, encoding="utf-8")
    except FileExistsError:
        raise UsageError("a file of this name is there already", "Name a new folder.", file=str(folder)) from None
    except OSError as slip:
        what = f"the folder cannot be written ({slip.strerror or slip})"
        raise UsageError(what, "Name another place for it.", file=str(folder)) from None
    return (_write(piece, folder) for piece in PIECES)


def _visible_width(picture: Image.Image) -> int:
    """Width in pixels of what can be seen."""
    if picture.mode != "RGBA":
        return picture.width
    box = picture.getchannel("A").point([0] * _FAINT + [255] * (256 - _FAINT)).getbbox()
    return picture.width if box is None else box[2] - box[0]


def _write(piece: Piece, folder: Path) -> Path:
    path = folder / piece.name
    picture = piece.draw()
    picture.save(path, dpi=(piece.ppi, piece.ppi), quality=92)  # PNG has no quality and takes no notice
    path.with_suffix(".ticket.toml").write_text(piece.ticket(picture), encoding="utf-8")
    return path
