"""The demo: a small invented order, drawn in code, to try the program on."""

from preflight.demo.order import PIECES, Piece, make_order

__all__ = ["PIECES", "Piece", "make_order"]
