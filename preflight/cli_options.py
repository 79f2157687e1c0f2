"""Options that several commands share, as the option parser reads them."""

from typing import Annotated

import typer

Width = Annotated[str | None, typer.Option(metavar="SIZE", help="Ordered width, such as 280mm (mm, cm, in, pt).")]
Height = Annotated[str | None, typer.Option(metavar="SIZE", help="Ordered height, such as 11in.")]
SizeOf = Annotated[
    str | None, typer.Option(metavar="WHAT", help="What that size is of: artwork (margins trimmed) or canvas.")
]
Compare = Annotated[
    str | None,
    typer.Option(metavar="OLD.json", help="An earlier JSON report: say what is fixed, what remains, what is new."),
]
Copies = Annotated[str | None, typer.Option(metavar="N", help="How many are ordered.")]
Garments = Annotated[
    list[str] | None,
    typer.Option(metavar="COLOUR", help='Colour of the garment, such as navy or "#1d1d1f"; repeat for more.'),
]
Mode = Annotated[str | None, typer.Option(metavar="NAME", help="Print mode of the shop, such as fine.")]
Shop = Annotated[str | None, typer.Option("--shop", metavar="FILE", help="The shop file, such as shop.toml.")]
Rules = Annotated[str | None, typer.Option("--rules", metavar="DIR", help="A folder with rules of your own, added.")]
Jobs = Annotated[
    str, typer.Option(metavar="N", show_default=False, help="Check so many files at the same time; 1 without it.")
]
Language = Annotated[
    str | None, typer.Option(metavar="CODE", help="Of web pages and PDF: en, es, pt, de or fr; else the shop file's.")
]
Verbose = Annotated[bool, typer.Option("--verbose", help="When the program fails, say where.")]
