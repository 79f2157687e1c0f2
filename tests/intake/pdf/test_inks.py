"""Inks by name: process, spot, the customer's white plate; what marks the page and what only stands in the file."""

import pytest
from pikepdf import Array, Dictionary, Name, Object

from preflight.intake.pdf.names import is_white
from tests.intake.pdf.making import device_n, form, look, picture, separation, stream


def resources(pdf):
    gold = separation("Gold Foil")
    blend = Dictionary(
        ShadingType=2, ColorSpace=gold, Coords=Array([0, 0, 99, 0]), Domain=Array([0, 1]),
        Function=Dictionary(FunctionType=2, Domain=[0, 1], C0=[0], C1=[1], N=1),
    )  # fmt: skip
    icc = pdf.make_stream(b"profile")
    icc.N = 4
    return {
        "ColorSpace": Dictionary(
            G=gold,
            A=separation("All"),
            N=separation("None"),
            K=separation("Black"),
            W=separation("White Ink"),
            D=device_n(pdf, "Cyan", "Gold Foil", "None"),
            I=Array([Name.ICCBased, icc]),
            X=Array([Name.Indexed, gold, 1, b"\0\xff"]),
            L=Array([Name.Lab, Dictionary(WhitePoint=Array([0.95, 1, 1.09]))]),
        ),
        "Shading": Dictionary(S=blend),
        "Pattern": Dictionary(P=Dictionary(PatternType=2, Shading=blend)),
        "XObject": Dictionary(
            C=picture(pdf, 2, 2, bytes(16), ColorSpace=Name.DeviceCMYK),
            S=picture(pdf, 2, 2, ColorSpace=gold),
            R=picture(pdf, 2, 2, bytes(12), ColorSpace=Name.DeviceRGB),
            B=form(pdf, b"1 0 0 0 k 0 0 9 9 re f", Group=Dictionary(S=Name.Transparency, CS=Name.DeviceRGB)),
        ),
    }


def inks(make, content):
    return {ink.name: ink.kind for ink in look(make(content, resources)).document.inks}


@pytest.mark.parametrize(
    ("content", "names"),
    [
        (b"1 0 0 0.5 k 0 0 9 9 re f", {"Cyan": "process", "Black": "process"}),
        (b"0 0 0.2 0 K 0 0 9 9 re S", {"Yellow": "process"}),
        (b"0 0 0 0 k 0 0 9 9 re f", {}),
        (b"1 0 0 0 k 1 0 0 rg 0 0 9 9 re f", {}),  # set and never used
        (b"1 0 0 0 k 500 500 9 9 re f", {}),
        (b"1 0 0 0 k 0 0 9 9 re n", {}),
        (b"/DeviceCMYK cs 0 0 9 9 re f", {"Black": "process"}),  # what the space starts with
        (b"/G cs 0.5 scn 0 0 9 9 re f", {"Gold Foil": "spot"}),
        (b"/G cs 0 scn 0 0 9 9 re f", {}),
        (b"/G cs 0 0 9 9 re f", {"Gold Foil": "spot"}),
        (b"/A cs 1 scn 0 0 9 9 re f", {"All": "all"}),
        (b"/N cs 1 scn 0 0 9 9 re f", {}),
        (b"/K cs 1 scn 0 0 9 9 re f", {"Black": "process"}),
        (b"/W cs 1 scn 0 0 9 9 re f", {"White Ink": "white"}),
        (b"/D cs 0 0.5 1 scn 0 0 9 9 re f", {"Gold Foil": "spot"}),
        (b"/D cs 0.1 0.5 1 scn 0 0 9 9 re f", {"Cyan": "process", "Gold Foil": "spot"}),
        (b"/I cs 0 1 0 0 scn 0 0 9 9 re f", {"Magenta": "process"}),
        (b"/X cs 1 scn 0 0 9 9 re f", {"Gold Foil": "spot"}),
        (b"q 0 0 50 50 re W n /S sh Q", {"Gold Foil": "spot"}),
        (b"/Pattern cs /P scn 0 0 9 9 re f", {"Gold Foil": "spot"}),
        (b"9 0 0 9 0 0 cm /C Do", dict.fromkeys(["Cyan", "Magenta", "Yellow", "Black"], "process")),
        (b"9 0 0 9 0 0 cm /S Do", {"Gold Foil": "spot"}),
        (b"0 g 0 0 9 9 re f 1 0 0 rg 0 0 9 9 re f", {}),
    ],
)
def test_inks_that_mark_the_page(content, names, make):
    assert inks(make, content) == names


def test_a_soft_mask_prints_no_ink(make):
    def masked(pdf):
        mask = Dictionary(S=Name.Luminosity, G=form(pdf, b"1 0 0 0 k 0 0 9 9 re f"))
        return {"ExtGState": Dictionary(M=Dictionary(SMask=mask))}

    assert look(make(b"/M gs 0 1 0 0 k 0 0 9 9 re f", masked)).document.inks[0].name == "Magenta"
    assert len(look(make(b"/M gs 0 1 0 0 k 0 0 9 9 re f", masked)).document.inks) == 1


@pytest.mark.parametrize(
    ("content", "inked"),
    [
        (b"1 0 0 0 k 0 0 9 9 re f", True),
        (b"1 0 0 0 k 0 0 9 9 re f 0 g 0 0 3 3 re f /G cs 1 scn 0 0 5 5 re f", True),
        (b"1 0 0 0 k 0 0 9 9 re f 1 0 0 rg 0 0 3 3 re f", False),
        (b"1 0 0 0 k 0 0 9 9 re f 1 0 0 rg", True),
        (b"1 0 0 0 k 0 0 9 9 re f 9 0 0 9 0 0 cm /R Do", False),
        (b"1 0 0 0 k 0 0 9 9 re f /L cs 50 0 0 scn 0 0 3 3 re f", False),
        (b"/B Do", False),  # blends in RGB
        (b"0 g 0 0 9 9 re f", False),
        (b"", False),
    ],
)
def test_a_page_of_inks_alone(content, inked, make):
    assert look(make(content, resources)).inked is inked


def test_an_uncoloured_pattern_takes_the_colour_of_its_use(make):
    def patterned(pdf):
        cell = stream(pdf, b"1 0 0 rg 0 0 5 5 re f", PatternType=1, PaintType=2, TilingType=1,
                      BBox=Array([0, 0, 9, 9]), XStep=9, YStep=9, Resources=Dictionary())  # fmt: skip
        return {
            "Pattern": Dictionary(P=cell),
            "ColorSpace": Dictionary(C=Array([Name.Pattern, separation("Gold Foil")])),
        }

    facts = look(make(b"/C cs 1 /P scn 0 0 50 50 re f", patterned))
    assert [ink.name for ink in facts.document.inks] == ["Gold Foil"]


def test_a_name_that_is_not_utf8(make):
    def latin(pdf):
        space = separation("x")
        space[1] = Object.parse(b"/Wei#df")
        return {"ColorSpace": Dictionary(G=space)}

    (ink,) = look(make(b"/G cs 1 scn 0 0 9 9 re f", latin)).document.inks
    assert (ink.name, ink.kind) == ("Weiß", "white")


@pytest.mark.parametrize(
    "name",
    ["White", "WHITE_INK", "Spot White 1", "WhiteInk", "Weiß", "weissdruck", "Blanc", "Bianco", "Blanco", "Branco",
     "wit", "Hvid", "Vit", "Valkoinen", "Biały", "Bílá", "Fehér", "Beyaz", "Белый", "Λευκό", "白", "白インク",
     "ホワイト", "흰색", "أبيض", "לבן", "ขาว", "White (underbase)", "Underbase"],
)  # fmt: skip
def test_white_in_many_languages(name):
    assert is_white(name)


@pytest.mark.parametrize(
    "name",
    ["Warm White", "Off-White", "White Gold", "Cool White 12", "Whitechapel Red", "W", "Gold", "", "12", "Cut", "Base",
     "Wittgenstein Blue", "Not white"],
)  # fmt: skip
def test_colours_that_are_no_white_plate(name):
    assert not is_white(name)
