"""Layers that do not print. Optional content: ISO 32000-1, 8.11 (from memory). The drawing has to agree."""

import pytest
from pikepdf import Array, Dictionary, Name

from tests.intake.pdf.making import add_page, drawn, form, look, opened, picture


def layered(default, *, group=None, wrap=lambda pdf, one, other: one, content=b"/OC /L BDC 0 0 72 72 re f EMC"):
    """A page whose left half lies on the layer "ink" and on nothing else; "other" is a second layer.

    default: of the configuration, from the two groups; wrap: what the content names, from the two groups.
    """

    def edit(pdf):
        one = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="ink", **(group or {})))
        other = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="other"))
        pdf.Root.OCProperties = Dictionary(OCGs=Array([one, other]), D=Dictionary(**default(one, other)))
        pdf.pages[0].obj.Resources = Dictionary(Properties=Dictionary(L=wrap(pdf, one, other)))

    return {"content": b"0 0 1 RG 1 w " + content, "edit": edit}


def ocmd(**entries):
    def wrap(pdf, one, other):
        given = {key: value(one, other) if callable(value) else value for key, value in entries.items()}
        return pdf.make_indirect(Dictionary(Type=Name.OCMD, **given))

    return wrap


def print_usage(state, **more):
    return {"Usage": Dictionary(Print=Dictionary(PrintState=Name(f"/{state}")), **more)}


def applied(one, other):
    return {"AS": Array([Dictionary(Event=Name.Print, OCGs=Array([one]), Category=Array([Name.Print]))])}


def off(*names):
    return lambda one, other: {"OFF": Array([{"ink": one, "other": other}[name] for name in names])}


def expression(*parts):
    return lambda one, other: Array([{"ink": one, "other": other}.get(part, part) for part in parts])


BOTH = {"OCGs": lambda one, other: Array([one, other])}
CASES = [
    (layered(off()), True),
    (layered(off("other")), True),
    (layered(off("ink")), False),
    (layered(lambda one, other: {"BaseState": Name.OFF}), False),
    (layered(lambda one, other: {"BaseState": Name.OFF, "ON": Array([one])}), True),
    (layered(applied, group=print_usage("OFF")), False),
    (layered(lambda one, other: {**applied(one, other), "OFF": Array([one])}, group=print_usage("ON")), True),
    (layered(off(), group=print_usage("OFF")), True),  # a usage that nothing applies
    (layered(off("ink"), group={"Intent": Name.Design}), True),  # a group that has no say in what shows
    (layered(off("other"), wrap=ocmd(**BOTH)), True),  # AnyOn
    (layered(off("ink", "other"), wrap=ocmd(**BOTH)), False),
    (layered(off("other"), wrap=ocmd(P=Name.AllOn, **BOTH)), False),
    (layered(off("other"), wrap=ocmd(P=Name.AnyOff, **BOTH)), True),
    (layered(off(), wrap=ocmd(P=Name.AnyOff, **BOTH)), False),
    (layered(off("ink", "other"), wrap=ocmd(P=Name.AllOff, **BOTH)), True),
    (layered(off("ink"), wrap=ocmd(P=Name.AllOff, **BOTH)), False),
    (layered(off("ink"), wrap=ocmd(OCGs=lambda one, other: one)), False),
    (layered(off("ink"), wrap=ocmd(VE=expression(Name.Not, "ink"))), True),
    (layered(off("ink"), wrap=ocmd(VE=expression(Name.And, "ink", "other"))), False),
    (layered(off("ink"), wrap=ocmd(VE=expression(Name.Or, "ink", "other"))), True),
    (layered(off("ink"), wrap=ocmd()), True),
]


@pytest.mark.parametrize(("layers", "prints"), CASES)
def test_what_prints_and_what_is_drawn(layers, prints, make):
    path = make(layers["content"] + b" 0 0 72 72 re S", edit=layers["edit"])
    facts = look(path)
    assert (facts.document.hidden_layers == ()) is prints
    assert facts.document.layers == 2
    alpha = drawn(opened(path).at_ppi(72))[..., 3]
    assert bool(alpha[36, 36] == 255) is prints


def test_a_hidden_layer_is_named_and_what_is_on_it_does_not_count(make):
    content = b"/OC /L BDC 0.01 w 0 0 72 72 re S /OC /L BDC EMC 5 w 0 0 3 3 re S EMC 1 w 5 5 9 9 re S"
    layers = layered(off("ink"), content=content)
    facts = look(make(layers["content"], edit=layers["edit"]))
    assert facts.document.hidden_layers == ("ink",)
    assert len(facts.document.strokes) == 1
    assert "Hidden layers do not print: ink." in facts.notes


def test_a_layer_that_is_hidden_and_empty_is_not_worth_a_word(make):
    layers = layered(off("ink"), content=b"/OC /L BDC EMC 1 w 5 5 9 9 re S")
    assert look(make(layers["content"], edit=layers["edit"])).document.hidden_layers == ()


@pytest.mark.parametrize("kind", ["form", "picture", "annotation"])
def test_objects_that_name_their_layer_themselves(kind, make):
    def edit(pdf):
        one = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="proof"))
        pdf.Root.OCProperties = Dictionary(OCGs=Array([one]), D=Dictionary(OFF=Array([one])))
        page = pdf.pages[0].obj
        shape = form(pdf, b"0 0 72 72 re f", (0, 0, 72, 72), **({"OC": one} if kind == "form" else {}))
        image = picture(pdf, 100, 100, **({"OC": one} if kind == "picture" else {}))
        page.Resources = Dictionary(XObject=Dictionary(X=image if kind == "picture" else shape))
        if kind == "annotation":
            note = Dictionary(Subtype=Name.Stamp, F=4, Rect=Array([0, 0, 72, 72]), AP=Dictionary(N=shape), OC=one)
            page.Annots = Array([pdf.make_indirect(note)])

    content = b"" if kind == "annotation" else b"72 0 0 72 0 0 cm /X Do" if kind == "picture" else b"/X Do"
    path = make(content, edit=edit)
    facts = look(path).document
    assert facts.hidden_layers == ("proof",)
    assert not facts.pictures
    assert not drawn(opened(path).at_ppi(72)).any()


def test_a_form_called_from_a_hidden_layer_is_hidden(make):
    layers = layered(off("ink"), content=b"/OC /L BDC /F Do EMC")

    def edit(pdf):
        layers["edit"](pdf)
        pdf.pages[0].obj.Resources.XObject = Dictionary(F=form(pdf, b"0.1 w 0 0 m 9 9 l S"))

    facts = look(make(layers["content"], edit=edit)).document
    assert facts.hidden_layers == ("ink",)
    assert not facts.strokes


def test_layers_of_one_page_say_nothing_of_another(make, tmp_path):
    def edit(pdf):
        layered(off("ink"))["edit"](pdf)
        add_page(pdf, b"0 0 9 9 re f")

    path = make(b"/OC /L BDC 0 0 72 72 re f EMC", edit=edit)
    assert [look(path, page).document.hidden_layers for page in (1, 2)] == [("ink",), ()]
