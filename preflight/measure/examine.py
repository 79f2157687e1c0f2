"""One artwork, measured: the pass, the print size, and every question in turn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from types import MappingProxyType

from preflight.intake.colour import cmyk_to_srgb, to_srgb
from preflight.measure import background, checkerboard, codes, detail, document, mended, size, whiteplate
from preflight.measure import colours as colour_tables
from preflight.measure.colours import Colours
from preflight.measure.edges import IDS, examine_edges, fade_width
from preflight.measure.fringe import Fringe
from preflight.measure.places import Scale
from preflight.measure.sheet import Observer, Sheet, gather
from preflight.measure.tiles import DetailTiles, PatternTiles
from preflight.model import (
    Artwork,
    Bytes,
    Coverage,
    Examination,
    Measurement,
    PixelFacts,
    PrintSize,
    Separation,
    Ticket,
    WithInks,
)
from preflight.shop import Shop
from preflight.ticket import garment_rgb

#: Below this the narrowest lines blur into the art: nothing found does not mean nothing there (measured).
COARSE_PPI = 200.0
#: Measures taken again on the art once a background box is keyed out.
_KEYED = ("narrowest-line", "narrowest-gap", "area-without-white", "speck-count")
#: Narrowest fade, px, that is told of art whose background was keyed out.
_KEYED_FADE_PX = 14.0
_NO_SIZE = "the print size is not known"


def examine(
    artwork: Artwork,
    ticket: Ticket,
    shop: Shop,
    separation: Separation,
    reach: Mapping[str, float] = MappingProxyType({}),
) -> Examination:
    """Measure everything of one artwork.

    Parameters
    ----------
    reach
        The widest limit that some rule sets on a measure which is only searched for up to a width, by measure id, mm.

    Raises
    ------
    IntakeError
        When the file ends early or cannot be decoded.
    """
    return _Examiner(artwork, ticket, shop, separation, reach).run()


class _Examiner:
    """The steps of one examination; each adds its measurements and assumptions."""

    def __init__(
        self, artwork: Artwork, ticket: Ticket, shop: Shop, separation: Separation, reach: Mapping[str, float]
    ) -> None:
        self.reach = reach
        self.artwork, self.ticket, self.shop, self.separation = artwork, ticket, shop, separation
        self.garments = {name: garment_rgb(name, shop) for name in ticket.garments}
        self.measures: dict[str, Measurement] = {}
        self.assumptions: list[str] = list(artwork.facts.notes)
        self.fixed: dict[str, Coverage] = {}

    def run(self) -> Examination:
        facts = self.artwork.facts
        detail_tiles, pattern_tiles, fringe, pieces = (
            DetailTiles(facts),
            PatternTiles(facts),
            Fringe(),
            codes.CodePieces(facts),
        )
        watchers: list[Observer] = [detail_tiles, pattern_tiles, pieces]
        if facts.has_alpha:
            watchers.append(fringe)
        sheet = gather(self.artwork, watchers)
        printed = size.print_size(sheet, self.ticket)
        scale = None if printed.ppi is None else Scale(printed.ppi)
        tone = detail.tone(sheet)
        self._add(*size.measure(printed, self.ticket, tone))
        self._add(size.printed_share(sheet, size.is_blank(sheet)))
        board = checkerboard.measure(pattern_tiles.tiles())
        # Painted squares lie on an even grid, as the pixels of an enlarged picture do.
        self._add(board, detail.measure([] if board.value else detail_tiles.tiles(), tone, scale))
        self._add(fringe.answer(sheet))
        self._add(codes.measure(pieces.regions(sheet), scale, self.garments))
        self._objects(sheet, printed)
        coverage = self._ink_and_edges(sheet, scale)
        self._say_size(printed)
        return Examination(
            facts=facts,
            page=self.artwork.page,
            print_size=printed,
            measures=self.measures,
            coverage=coverage,
            coverage_fixed=self.fixed,
            separation="the file's own inks" if sheet.inks4 is not None else self.separation.name,
            assumptions=tuple(self.assumptions),
            pages=1 if self.artwork.document is None else self.artwork.document.pages,
        )

    def _add(self, *measurements: Measurement) -> None:
        self.measures.update((one.id, one) for one in measurements)

    def _objects(self, sheet: Sheet, printed: PrintSize) -> None:
        """What only a document's own objects tell."""
        found = self.artwork.document
        if found is None:
            self._add(*document.none_of_a_document())
            return
        inks = found.inks
        whites = [ink.name for ink in inks if ink.kind == "white"]
        plate: Iterable[tuple[int, Bytes]] = ()
        if isinstance(self.artwork, WithInks) and any(ink.kind in ("spot", "white") for ink in inks):
            inks, plate = self.artwork.ink_shares(), self.artwork.white_plate()
        page = document.page_of(found, printed)
        self._add(*document.measure(page, inks), whiteplate.measure(sheet, plate, whites))
        if self.artwork.facts.drawn:
            ppi, detail_ppi = self.measures["effective-ppi"], self.measures["detail-ppi"]
            self._add(*document.of_placed_pictures(page, sheet, ppi, detail_ppi))

    def _ink_and_edges(self, sheet: Sheet, scale: Scale | None) -> Coverage | None:
        """Colours, ink and edges; without a print size only what needs none."""
        boxes = background.find(sheet) if self.measures["printed-share"].value else []
        self._add(background.measure(sheet, boxes))
        colours = colour_tables.table(sheet, _converter(self.artwork.facts), self.separation)
        self._add(
            colour_tables.colour_shift(colours, self.separation), colour_tables.contrast(colours, self.garments, scale)
        )
        if scale is None:
            self._add(*(Measurement(name, None, unit, why_not=_NO_SIZE) for name, unit in IDS.items()))
            self._add(Measurement("total-ink", None, "%", why_not=_NO_SIZE))
            return None
        peak = self._ink(colours, scale)
        edges = examine_edges(sheet, scale, self.shop, self.reach)
        self._add(*edges.measurements.values())
        base = colour_tables.coverage(colours, sheet, colours.area, edges.white_px, peak, scale)
        self.fixed.update(mended.mended(sheet, colours, edges, self.measures, self.shop, scale))
        if boxes:
            self._without_background(sheet, boxes, colours, scale)
        self._say_coarse(scale)
        return base

    def _ink(self, colours: Colours, scale: Scale) -> float:
        """Adds ``total-ink``; returns the peak of total ink in percent."""
        heavy = colour_tables.heavy_map(colours, self.shop.heavy_ink.aperture_mm, scale)
        self._add(colour_tables.total_ink(heavy, colours.cell, self.shop.heavy_ink.allowed_mm2, scale))
        return float(heavy.max())

    def _without_background(
        self, sheet: Sheet, boxes: list[background.Background], colours: Colours, scale: Scale
    ) -> None:
        """Measure the art again as it will be once the box is gone: the customer hears all in one round."""
        shape = (sheet.alpha4.shape[0], sheet.alpha4.shape[1])
        keyed = gather(background.Keyed(self.artwork, boxes, shape))
        self.fixed["background-left"] = mended.coverage_of(keyed, colours, self.shop, scale)
        if keyed.box is None:
            return
        edges = examine_edges(keyed, scale, self.shop, self.reach)
        again = [edges.measurements[name] for name in _KEYED]
        del keyed, edges  # the memory of one sheet is enough
        soft = gather(background.Keyed(self.artwork, boxes, shape, soft=True))
        fade = fade_width(soft, scale)
        # A lossy file is smeared around its edges by a block of 8 px; a fade that counts is wider.
        if (fade.value or 0.0) > max(self.measures["fade-width"].value or 0.0, scale.mm(_KEYED_FADE_PX)):
            again.append(fade)
        self._add(*(replace(one, details={**one.details, "keyed": "yes"}) for one in again))
        self.assumptions.append(
            "A background was left in. Lines, gaps, specks and edges were measured as if it were already removed."
        )

    def _say_size(self, printed: PrintSize) -> None:
        if printed.size_from != "file" or printed.width_mm is None:
            return
        if self.artwork.document is not None and self.artwork.facts.drawn:
            self.assumptions.append("No size was ordered. The size is that of the page in the file: ask.")
        else:
            tag = self.artwork.facts.density_from or "density"
            self.assumptions.append(
                f"No size was ordered. The size is taken from the file's own {tag} tag, which is often wrong: ask."
            )

    def _say_coarse(self, scale: Scale) -> None:
        if scale.ppi < COARSE_PPI:
            self.assumptions.append(
                f"At {scale.ppi:.0f} pixels per inch, lines and gaps near the limit are too coarse to judge."
            )
            for name in ("narrowest-line", "narrowest-gap"):
                if self.measures[name].value is None:
                    why = f"too coarse to judge at {scale.ppi:.0f} pixels per inch"
                    self.measures[name] = replace(self.measures[name], why_not=why)


def _converter(facts: PixelFacts) -> Callable[[Bytes], Bytes]:
    """From the file's own colours to sRGB."""
    return cmyk_to_srgb(facts.icc) if facts.colour == "cmyk" else to_srgb(facts.icc)
