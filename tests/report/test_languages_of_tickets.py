"""What is wrong with a ticket, and what kind of file came, in every language: put together before one is known."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from preflight.engine import Checker, check
from preflight.language import LANGUAGES, load_language
from preflight.model import Measurement, Verdict
from preflight.report.content import content
from preflight.rulebook import load_rulebook
from preflight.shop import Shop
from preflight.ticket import Order
from tests.report.samples import unread_report

#: Tickets that cannot be read, and words that the German report has: those of the ticket stay as they are.
TICKETS = [
    ("width = 280", "Zeile 1, width: 280 hat keine Einheit", 'etwa width = "280mm".'),
    ('width = "12.5"', "Zeile 1, width: width '12.5' hat keine Einheit", "etwa 12.5mm."),
    ('width = "12 parsecs"', "width '12 parsecs' hat eine Einheit, die", "Nehmen Sie eine von mm, cm, in, pt."),
    ('width = "0,3 m"', "Dezimalkomma", "mit einem Punkt: 0.3m."),
    ('width = "1001cm"', "10010mm ist mehr, als es sein kann", "von 1mm bis 10000mm."),
    ('width = "wide"', "width 'wide' ist keine Länge", "(mm, cm, in, pt)"),
    ('width = "-3mm"', "muss null oder mehr als null sein", "280mm"),
    ("copies = 2.5", "copies: 2.5 ist keine ganze Zahl", "ohne Anführungszeichen"),
    ("copies = 02", "beginnt mit einer Null", "Schreiben Sie 2."),
    ('size_of = "art"', 'size_of: "art" ist hier nicht bekannt', "artwork"),
    ('garments = "deep sea blue"', '"deep sea blue" ist keine Liste', 'garments = ["deep sea blue"]'),
    ("garments = [1]", "garments: 1 ist kein Text", '"1"'),
    ("garments = [[1]]", "garments: eine Liste ist kein Text", '"…"'),
    ('copies = 1\ngarment = "red"', "Zeile 2, garment: 'garment' ist keine", "Meinten Sie garments? Hier bekannt:"),
    ('garments = ["apron green"]', 'die Textilfarbe "apron green" ist nicht bekannt', "Farbnamen von CSS"),
    ('garments = ["navi"]', '"navi" ist nicht bekannt', "Meinten Sie navy? Schreiben Sie"),
    ('mode = "fin"', 'keinen Druckmodus "fin"', "Meinten Sie fine? Ihre Druckmodi: fine, normal, fast."),
    ("width 280mm", "'width 280mm' hat kein Gleichheitszeichen", "Name = Wert"),
    ("mode = apron green", "apron green ist Text ohne Anführungszeichen", 'mode = "apron green"'),
    ("width = “280mm”", "typografischen", 'width = "280mm"'),
    ('garments = ["red"', "hier beginnt etwas und endet nie: eine Liste", "]"),
    ("copies = 1\ncopies = 2", "Zeile 2, copies: 'copies' steht zweimal da, hier und in Zeile 1", "Behalten Sie"),
    ('mode = "fine" x', "x steht nach dem letzten Anführungszeichen", "Paar"),
    ('reference = "a\\q"', "hat eine eigene Bedeutung", "mit /"),
    ('reference = ""', "der Text ist leer", "löschen Sie die Zeile"),
    ("width =", "nach dem Gleichheitszeichen steht nichts", "Vorgabewert"),
]


def ticket_slip(folder: Path, text: str) -> Measurement:
    """What a ticket with that text becomes."""
    path = folder / "art work.png"
    path.with_name("art work.ticket.toml").write_text(text, encoding="utf-8")
    Image.new("L", (60, 60), 9).save(path, dpi=(300, 300))
    shop = Shop.default()
    made = check(path, Checker(Order(), shop, load_rulebook(shop)))
    return made.measures["ticket-unreadable"]


@pytest.mark.parametrize(("text", "what", "step"), TICKETS, ids=[case[0][:20] for case in TICKETS])
def test_what_is_wrong_with_a_ticket_is_told_in_the_customers_language(
    tmp_path: Path, text: str, what: str, step: str
) -> None:
    rulebook = load_rulebook(Shop.default(), None, load_language("de"))
    (told,), _ = rulebook.judge({"ticket-unreadable": ticket_slip(tmp_path, text)}, None)
    assert what in told.seen
    assert "art work.ticket.toml, Zeile " in told.seen
    assert step in told.fix
    assert told.operator.startswith("Nicht zu lesen: art work.ticket.toml, Zeile ")
    assert not re.search(r"\b(the|is|has|Write|Put|such)\b", told.seen + told.fix + told.operator)


@pytest.mark.parametrize("code", [code for code in LANGUAGES if code != "en"])
def test_no_language_leaves_out_what_is_wrong_with_a_ticket(tmp_path: Path, code: str) -> None:
    rulebook = load_rulebook(Shop.default(), None, load_language(code))
    for text, *_ in TICKETS:
        measure = ticket_slip(tmp_path, text)
        (told,), _ = rulebook.judge({"ticket-unreadable": measure}, None)
        assert "art work.ticket.toml, " in told.seen
        assert measure.details["reason"].rpartition(": ")[2] not in told.seen
        assert measure.details["next_step"] not in told.operator


def test_a_ticket_that_is_no_file_is_told_as_well(tmp_path: Path) -> None:
    (tmp_path / "art work.ticket.toml").mkdir()
    path = tmp_path / "art work.png"
    Image.new("L", (60, 60), 9).save(path)
    shop = Shop.default()
    made = check(path, Checker(Order(), shop, load_rulebook(shop)))
    (told,), _ = load_rulebook(shop, None, load_language("de")).judge(made.measures, None)
    assert told.seen.endswith("art work.ticket.toml: das ist ein Ordner, keine Datei.")
    assert told.fix == "Nennen Sie die Datei darin."


def test_an_order_that_was_not_read_is_not_told_as_one(tmp_path: Path) -> None:
    measure = ticket_slip(tmp_path, "width = 280")
    made = replace(unread_report(), verdict=Verdict.UNCHECKED, findings=(), measures={measure.id: measure})
    page = content(made, None, load_language("en"))
    assert page.headline == "We could not read the order for this file"
    assert "Copies" not in [label for label, _ in page.order]
    page = content(unread_report(), None, load_language("en"))
    assert page.headline == "We could not check this file"
    assert ("Copies", "1") in page.order


@pytest.mark.parametrize(("code", "word"), [("en", "text"), ("de", "Text"), ("es", "texto"), ("fr", "texte")])
def test_what_kind_of_file_it_is_is_told_in_the_language(code: str, word: str) -> None:
    told = content(replace(unread_report(), format="text"), None, load_language(code))
    assert word in [text for _, text in told.shop.file]
    told = content(replace(unread_report(), format="XCF"), None, load_language(code))
    assert "XCF" in [text for _, text in told.shop.file]
