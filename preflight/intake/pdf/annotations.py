"""Annotations that print. ISO 32000-1, 12.5 (from memory)."""

from __future__ import annotations

from collections.abc import Iterator

from preflight.intake.pdf import values
from preflight.intake.pdf.layers import Layers
from preflight.intake.pdf.matrix import IDENTITY, Matrix, after, box_after
from preflight.intake.pdf.values import Value

#: Annotation flags; Table 165.
_HIDDEN, _PRINTS = 2, 4
_MOST_ANNOTATIONS = 5_000


def printed(page: Value, layers: Layers, hidden: dict[str, None]) -> Iterator[Value]:
    """The annotations of a page that print; layers that keep others from it are noted in ``hidden``.

    Raises
    ------
    IntakeError
        As ``Layers.hiding``.
    """
    for annotation in values.items(values.get(page, "/Annots"), _MOST_ANNOTATIONS):
        flags = values.whole(values.get(annotation, "/F"))
        if not flags & _PRINTS or flags & _HIDDEN or values.name(values.get(annotation, "/Subtype")) == "Popup":
            continue
        layer = layers.hiding(values.get(annotation, "/OC"))
        if layer is None:
            yield annotation
        elif _appearance(annotation) is not None:
            hidden.setdefault(layer)


def appearances(page: Value, layers: Layers, hidden: dict[str, None]) -> Iterator[tuple[Value, Matrix]]:
    """What the annotations show that print, and the matrix that puts each into its place. Raises as ``printed``."""
    for annotation in printed(page, layers, hidden):
        appearance = _appearance(annotation)
        if appearance is not None:
            yield appearance, _into_place(annotation, appearance)


def _appearance(annotation: Value) -> Value | None:
    """The content stream of an annotation, in its current state; None where it shows nothing."""
    appearance = values.get(values.get(annotation, "/AP"), "/N")
    if values.is_dictionary(appearance):
        state = values.get(annotation, "/AS")
        appearance = None if state is None else values.get(appearance, state)
    return appearance if values.is_stream(appearance) else None


def _into_place(annotation: Value, appearance: Value) -> Matrix:
    """ISO 32000-1, 12.5.5, algorithm 8.1 (from memory): the appearance's box is fitted into the annotation's."""
    target = values.rectangle(values.get(annotation, "/Rect"))
    box = values.rectangle(values.get(appearance, "/BBox"))
    if target is None or box is None:
        return IDENTITY
    x0, y0, x1, y1 = box_after(box, values.matrix(values.get(appearance, "/Matrix"), IDENTITY))
    across = (target[2] - target[0]) / (x1 - x0) if x1 > x0 else 1.0
    down = (target[3] - target[1]) / (y1 - y0) if y1 > y0 else 1.0
    return after((1.0, 0.0, 0.0, 1.0, -x0, -y0), (across, 0.0, 0.0, down, target[0], target[1]))
