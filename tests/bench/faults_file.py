"""Planted faults of the file and the order: sizes, endings, damage, nothing at all."""

from __future__ import annotations

import numpy as np

from .design import furnish, plan, ppi_of
from .faults_picture import as_sheet
from .photos import leaves
from .scene import Drawn, drawn


def _sound(rng: np.random.Generator, ppi: float | None = None) -> Drawn:
    drawing = plan(rng, ppi or ppi_of(rng))
    furnish(drawing, rng)
    return drawn(drawing.sheet, rng)


def no_size(rng: np.random.Generator) -> Drawn:
    """No size ordered, and none in the file."""
    picture = _sound(rng)
    picture.ordered, picture.density = "none", None
    picture.format = str(rng.choice(["PNG", "WEBP"]))
    return picture.plant("size-unknown", (), "ask")


def other_proportions(rng: np.random.Generator) -> Drawn:
    """Width and height ordered in proportions that the art does not have: 5 to 30 % off."""
    picture = _sound(rng, float(rng.choice([450, 600])))
    off = float(rng.uniform(1.05, 1.3))
    picture.ordered = "both"
    picture.ordered_scale = (off, 1.0) if rng.random() < 0.5 else (1.0, off)
    return picture.plant("size-differs", (), "ask", (off - 1) * 100)


def too_wide(rng: np.random.Generator) -> Drawn:
    """Both sides wider than the film; laying it turned does not help."""
    ppi = float(rng.uniform(152, 170))
    width, height = float(rng.uniform(340, 400)), float(rng.uniform(340, 400))
    if rng.random() < 0.5:
        picture = leaves(rng, int(width / 25.4 * ppi), int(height / 25.4 * ppi))
        found = drawn(as_sheet(picture, ppi), rng, tone="photo", format="JPEG")
    else:
        drawing = plan(rng, ppi, across=4, down=4, cell_mm=width / 4, margin=1.5)
        furnish(drawing, rng)
        found = drawn(drawing.sheet, rng, format="PNG", size_of="canvas")
        width = height = drawing.sheet.width / drawing.sheet.scale
    return found.plant("wider-than-film", (), "stop", min(width, height))


def truncated(rng: np.random.Generator) -> Drawn:
    """The upload broke off: 30 to 95 % of the bytes are there."""
    form = str(rng.choice(["PNG", "JPEG"]))
    if form == "JPEG":
        picture = leaves(rng, int(rng.uniform(500, 1000)), int(rng.uniform(500, 900)))
        found = drawn(as_sheet(picture, 300), rng, tone="photo", format=form)
    else:
        found = _sound(rng)
        found.format = form
    found.keep = float(rng.uniform(0.3, 0.95))
    found.truth_of_colour = False
    found.open |= {"low-contrast", "colour-shift"}
    return found.plant("cut-short", (), "stop")


def not_a_picture(rng: np.random.Generator) -> Drawn:
    """Bytes that no decoder takes, under a picture's ending."""
    found = _sound(rng, 300)
    found.format, found.keep, found.truth_of_colour = "PNG", 0.0, False
    found.open |= {"low-contrast", "colour-shift", "cut-short"}
    return found.plant("unreadable-file", (), "stop")


def other_ending(rng: np.random.Generator) -> Drawn:
    """A good picture under another format's ending."""
    found = _sound(rng)
    found.format, found.ending = [("PNG", ".jpg"), ("PNG", ".tif"), ("WEBP", ".png"), ("TIFF", ".png")][
        int(rng.integers(4))
    ]
    if rng.random() < 0.3:
        picture = leaves(rng, int(rng.uniform(500, 900)), int(rng.uniform(500, 900)))
        found = drawn(as_sheet(picture, 300), rng, tone="photo", format="JPEG", ending=".png")
    return found.plant("wrong-extension", (), "note")


def blank(rng: np.random.Generator) -> Drawn:
    """Nothing visible: every pixel is clear, whatever colour hides under it."""
    ppi = ppi_of(rng)
    size = (int(rng.uniform(300, 1500)), int(rng.uniform(300, 1500)), 4)
    rgba = np.zeros(size, np.uint8)
    rgba[..., :3] = [(0, 0, 0), (255, 255, 255), (180, 30, 30)][int(rng.integers(3))]
    picture = Drawn(rgba, ppi, truth_of_colour=False, open={"low-contrast"})
    return picture.plant("nothing-to-print", (), "stop")
