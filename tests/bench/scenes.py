"""The benchmark's cases: every kind with its share, and the way from a number to a file, a ticket and a truth.

The same seed and number give the same case. A round of kinds is interleaved, so any count draws from all of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from preflight.model import Ticket

from . import (
    clean_pictures,
    clean_shapes,
    faults_alpha,
    faults_detail,
    faults_file,
    faults_ground,
    faults_picture,
    truth,
)
from .scene import Box, Case, Draw, Drawn, Planted, art_box, save

#: Kind, how it is drawn, how many in a round of all kinds.
FAULTS: tuple[tuple[str, Draw, int], ...] = (
    ("coarse line art", faults_picture.coarse_design, 2),
    ("coarse photograph", faults_picture.coarse_photo, 2),
    ("enlarged picture", faults_picture.enlarged_photo, 2),
    ("enlarged real photograph", faults_picture.enlarged_real_photo, 2),
    ("glow", faults_alpha.glow, 2),
    ("shadow", faults_alpha.shadow, 2),
    ("feathered photograph", faults_alpha.feathered, 1),
    ("translucent fill", faults_alpha.translucent, 3),
    ("translucent layer", faults_alpha.ghosted, 1),
    ("faint leftovers", faults_alpha.residue, 3),
    ("white box left", faults_ground.white_box, 3),
    ("coloured box left", faults_ground.colour_box, 3),
    ("opaque JPEG on white", faults_ground.opaque_jpeg, 2),
    ("painted checkerboard", faults_ground.checkerboard, 3),
    ("rim of another ground", faults_alpha.fringe, 3),
    ("rim on a photograph", faults_alpha.fringe_on_photo, 1),
    ("thin line, straight", faults_detail.straight_line, 3),
    ("thin line, bent", faults_detail.curved_line, 3),
    ("thin line, attached", faults_detail.attached_line, 3),
    ("thin slot", faults_detail.slot, 3),
    ("thin gap", faults_detail.gap_between, 3),
    ("stray specks", faults_detail.specks, 3),
    ("figure cropped", faults_ground.cropped, 2),
    ("word cropped", faults_ground.cropped_word, 1),
    ("parts without white", faults_detail.no_white, 3),
    ("code too small", faults_detail.small_code, 2),
    ("code lost on garment", faults_detail.lost_code, 1),
    ("heavy ink", faults_picture.heavy_ink, 2),
    ("lost on garment", faults_picture.lost_on_garment, 2),
    ("colour out of reach", faults_picture.out_of_reach, 1),
    ("no size", faults_file.no_size, 1),
    ("other proportions", faults_file.other_proportions, 1),
    ("wider than the film", faults_file.too_wide, 1),
    ("truncated", faults_file.truncated, 2),
    ("not a picture", faults_file.not_a_picture, 1),
    ("other ending", faults_file.other_ending, 1),
    ("blank", faults_file.blank, 1),
)
CLEAN: tuple[tuple[str, Draw, int], ...] = (
    ("sound: mixed design", clean_shapes.mixed_design, 2),
    ("sound: discs and rings", clean_shapes.discs_and_rings, 2),
    ("sound: sharp stars", clean_shapes.sharp_stars, 2),
    ("sound: polygons and hearts", clean_shapes.polygons, 1),
    ("sound: lines of 0.62 mm", clean_shapes.sound_lines, 2),
    ("sound: slots of 0.55 mm", clean_shapes.sound_slots, 1),
    ("sound: serif text", clean_shapes.serif_text, 3),
    ("sound: sans text", clean_shapes.sans_text, 2),
    ("sound: dotted border", clean_shapes.dotted_border, 1),
    ("sound: tight badge", clean_shapes.tight_badge, 2),
    ("sound: flush letters", clean_shapes.flush_letters, 1),
    ("sound: code of 0.8 mm", clean_shapes.good_code, 1),
    ("sound: dark on white", clean_shapes.dark_on_white, 1),
    ("sound: outlined sticker", clean_shapes.outlined_sticker, 1),
    ("sound: outlined drawing", clean_shapes.outlined_drawing, 2),
    ("sound: full photograph", clean_pictures.full_photo, 3),
    ("sound: cut-out photograph", clean_pictures.cut_out_photo, 2),
    ("sound: halftone", clean_pictures.halftone, 1),
    ("sound: woven checks", clean_pictures.gingham, 1),
    ("sound: shaded shapes", clean_pictures.shaded_shapes, 1),
    ("sound: size from the file", clean_pictures.size_from_file, 1),
    ("sound: CMYK photograph", clean_pictures.sound_cmyk, 1),
    ("sound: large print", clean_pictures.sound_large, 1),
)
#: Ordered length and limits of the shop's defaults (trade.md).
_FILM_MM = 325.0


@dataclass(frozen=True, slots=True)
class Built:
    """A case with the picture it was made from."""

    case: Case
    picture: Drawn


def schedule() -> list[tuple[str, Draw]]:
    """One round of kinds, interleaved."""
    slots = []
    for at, (kind, draw, share) in enumerate(FAULTS + CLEAN):
        slots += [((i + 0.5) / share, at, kind, draw) for i in range(share)]
    return [(kind, draw) for _, _, kind, draw in sorted(slots, key=lambda slot: slot[:2])]


def build(seed: int, number: int, folder: Path) -> Built:
    """Draw case ``number`` of a seed, write its file, and work out what is true of it."""
    order = schedule()
    kind, draw = order[number % len(order)]
    rng = np.random.default_rng([seed, number])
    picture = draw(rng)
    box = art_box(picture.rgba[..., 3])
    ticket = _ticket(picture, box, rng)
    planted, quietly = _truths(picture, ticket, box)
    path = save(picture, folder, f"case-{seed}-{number:04d}", rng)
    origin = (float(box[0]), float(box[1]))
    case = Case(number, kind, path, ticket, picture.ppi, origin, tuple(planted), frozenset(quietly))
    return Built(case, picture)


def _ticket(picture: Drawn, box: tuple[int, int, int, int], rng: np.random.Generator) -> Ticket:
    size_of = picture.size_of or ("artwork" if rng.random() < 0.75 else "canvas")
    rows, columns = picture.rgba.shape[:2]
    wide, high = (box[2] - box[0], box[3] - box[1]) if size_of == "artwork" else (columns, rows)
    exact = bool(rng.random() < 0.5) or min(wide, high) * 25.4 / picture.ppi < 40
    width = _asked(wide * 25.4 / picture.ppi * picture.ordered_scale[0], exact)
    height = _asked(high * 25.4 / picture.ppi * picture.ordered_scale[1], exact)
    named = picture.ordered
    if named == "any":
        named = str(rng.choice(["width", "width", "height", "both"]))
    return Ticket(
        width_mm=width if named in ("width", "both") else None,
        height_mm=height if named in ("height", "both") else None,
        size_of=size_of,
        copies=int(rng.integers(1, 30)),
        garments=picture.garments if picture.garments is not None else _garments(picture, rng),
    )


def _asked(millimetres: float, exact: bool) -> float:
    """People order to a tenth of a millimetre at best."""
    return millimetres if exact else round(millimetres, 1)


def _garments(picture: Drawn, rng: np.random.Generator) -> tuple[str, ...]:
    """Garments that the art stands out on; one case in four names none."""
    if rng.random() < 0.25 or not picture.truth_of_colour:
        return ()
    order = [truth.ORDINARY[int(i)] for i in rng.permutation(len(truth.ORDINARY))]
    sound = [garment for garment in order if truth.low_contrast(picture.rgba, garment) == "no"]
    return tuple(sound[: int(rng.choice([1, 1, 1, 2]))])


def _truths(picture: Drawn, ticket: Ticket, box: tuple[int, int, int, int]) -> tuple[list[Planted], set[str]]:
    """What was planted by hand, with what follows from the pixels, the size and the garment."""
    rows, columns = picture.rgba.shape[:2]
    planted = [_placed(fault, columns, rows) for fault in picture.planted]
    quietly = set(picture.open)
    known = {fault.rule for fault in planted} | quietly
    answers = dict(_resolution(picture))
    if picture.truth_of_colour:
        answers["colour-shift"] = (truth.shifts(picture.rgba), None)
        if ticket.garments:
            answers["low-contrast"] = (_contrast(picture, ticket), None)
    for rule, (answer, severity) in answers.items():
        if rule in known:
            continue
        if answer == "yes":
            planted.append(Planted(rule, (), severity))
        elif answer == "close":
            quietly.add(rule)
    return _white(picture, planted, quietly), quietly


def _placed(fault: Planted, columns: int, rows: int) -> Planted:
    """A fault of the whole canvas needs no place."""
    if any(x0 <= 0 and y0 <= 0 and x1 >= columns and y1 >= rows for x0, y0, x1, y1 in fault.where):
        return Planted(fault.rule, (), fault.severity, fault.value)
    return fault


def _contrast(picture: Drawn, ticket: Ticket) -> str:
    answers = {truth.low_contrast(picture.rgba, garment) for garment in ticket.garments}
    return "yes" if "yes" in answers else "close" if "close" in answers else "no"


def _resolution(picture: Drawn) -> list[tuple[str, tuple[str, str | None]]]:
    """The trade's limits: 150 for all, 200 for continuous tone, 300 for line art; half a pixel per inch allowed."""
    ppi, tone = picture.ppi, picture.tone
    if picture.ordered == "none" and not picture.density:
        return []
    if ppi < 149:
        answer: tuple[str, str | None] = ("yes", "stop")
    elif ppi < 199:
        answer = ("yes", "ask" if ppi > 151 else None)
    elif ppi < 299 and tone != "photo":
        answer = ("yes", "ask") if tone == "flat" else ("close", None)
    else:
        answer = ("no", None)
    return [("low-resolution", answer)]


def _white(picture: Drawn, planted: list[Planted], quietly: set[str]) -> list[Planted]:
    """The area without white, worked out; where nothing was planted but some is lost, nobody is judged."""
    area = truth.without_white(picture.rgba[..., 3], picture.ppi)
    sure = []
    for fault in planted:
        if fault.rule == "no-white-under":
            if area < 1:
                raise AssertionError(f"only {area:.2f} mm² are without white")
            severity = "stop" if area > 7 else "ask" if area < 3.5 else None
            fault = Planted(fault.rule, fault.where, severity, area)
        sure.append(fault)
    if area > 0.35:
        quietly.add("no-white-under")
    return sure


def boxes_in_print(case: Case, fault: Planted) -> list[Box]:
    return [case.in_print(box) for box in fault.where]
