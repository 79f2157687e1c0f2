"""How large the artwork prints, and the questions about its size."""

from __future__ import annotations

from preflight.measure.sheet import Sheet
from preflight.model import Box, Measurement, PrintSize, Ticket
from preflight.units import MM_PER_INCH, show_number


def print_size(sheet: Sheet, ticket: Ticket) -> PrintSize:
    """From the ticket if it names a size, else from the density the file states, else unknown.

    With both width and height ordered, the artwork is made to fit inside: it is never stretched.
    """
    canvas = (sheet.width, sheet.height)
    box = sheet.box or Box(0, 0, *canvas)
    width, height = (box.width, box.height) if ticket.size_of == "artwork" else canvas
    densities = [
        pixels * MM_PER_INCH / ordered
        for pixels, ordered in ((width, ticket.width_mm), (height, ticket.height_mm))
        if ordered is not None
    ]
    if densities:
        return _at(canvas, box, max(densities), "ticket")
    stated = sheet.facts.density_ppi
    if stated is not None:
        # Unequal densities are those of a screen or a fax; the mean keeps the area.
        return _at(canvas, box, (stated[0] * stated[1]) ** 0.5, "file")
    return PrintSize(canvas, box, None, None, None, "unknown")


def _at(canvas: tuple[int, int], box: Box, ppi: float, source: str) -> PrintSize:
    return PrintSize(canvas, box, ppi, box.width * MM_PER_INCH / ppi, box.height * MM_PER_INCH / ppi, source)


def measure(size: PrintSize, ticket: Ticket, tone: str) -> list[Measurement]:
    """``effective-ppi``, ``size-missing``, ``proportion-difference``, ``print-width``."""
    unknown = None if size.ppi is not None else "the print size is not known"
    across = min(size.width_mm, size.height_mm) if size.width_mm and size.height_mm else None
    return [
        Measurement("size-missing", 0.0 if size.ppi else 1.0, "count"),
        Measurement("effective-ppi", size.ppi, "ppi", why_not=unknown, kind=tone),
        Measurement("print-width", across, "mm", why_not=unknown),
        _proportions(size, ticket),
    ]


def _proportions(size: PrintSize, ticket: Ticket) -> Measurement:
    if ticket.width_mm is None or ticket.height_mm is None:
        why = "width and height were not both ordered"
        return Measurement("proportion-difference", None, "%", why_not=why, applies=False)
    art = (size.artwork.width, size.artwork.height) if ticket.size_of == "artwork" else size.canvas
    ordered, drawn = ticket.width_mm / ticket.height_mm, art[0] / art[1]
    difference = 100.0 * (max(ordered, drawn) / min(ordered, drawn) - 1.0)
    details = {
        "ordered": f"{show_number(ticket.width_mm)} x {show_number(ticket.height_mm)} mm",
        "artwork": f"{art[0]} x {art[1]} pixels",
    }
    return Measurement("proportion-difference", difference, "%", details=details)


def printed_share(sheet: Sheet, blank: bool) -> Measurement:
    """``printed-share``: percent of the canvas that prints; 0 for a blank page."""
    if blank:
        return Measurement("printed-share", 0.0, "%")
    return Measurement("printed-share", 100.0 * sheet.opacity() / (sheet.width * sheet.height), "%")


def is_blank(sheet: Sheet) -> bool:
    """Whether there is nothing to print: all transparent, or an opaque page that is white throughout."""
    if sheet.box is None:
        return True
    return bool((sheet.alpha4 >= 250).all()) and int(sheet.sample4[..., :3].min()) >= 250
