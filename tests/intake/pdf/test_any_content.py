"""Whatever stands in a content stream, the walk comes to an end with facts or with a refusal in plain words."""

import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pikepdf import Array, Dictionary, Name

from preflight.errors import IntakeError
from preflight.intake.pdf.content import _OPERATORS
from tests.intake.pdf.making import (
    device_n,
    embedded_font,
    font,
    form,
    look,
    make,
    picture,
    separation,
    stream,
)

NAMES = [
    "/F",
    "/E",
    "/P",
    "/I",
    "/G",
    "/D",
    "/T",
    "/S",
    "/M",
    "/L",
    "/Pattern",
    "/DeviceCMYK",
    "/DeviceRGB",
    "/OC",
    "/x",
]
NUMBERS = ["0", "1", "-1", "0.5", "72", "1000000000", "-.0", "1e5", "999999999999999999999"]
OTHERS = [
    "(text)",
    "<00ff41>",
    "[1 2 3]",
    "[(a) -5 (b)]",
    "<< /a 1 >>",
    "null",
    "true",
    "(",
    "]",
    ">>",
    "BI /W 9 ID x EI",
]
words = st.sampled_from([*_OPERATORS.split(), *NAMES, *NUMBERS, *OTHERS])
contents = st.lists(words, max_size=60).map(" ".join).map(str.encode) | st.binary(max_size=200)


def resources(pdf):
    gold = separation("Gold")
    cell = stream(pdf, b"/I Do 0 0 m 5 5 l S", PatternType=1, PaintType=2, TilingType=1, BBox=Array([0, 0, 5, 5]),
                  XStep=5, YStep=5, Resources=Dictionary(XObject=Dictionary(I=picture(pdf, 4, 4))))  # fmt: skip
    masked = form(pdf, b"/I Do", Resources=Dictionary(XObject=Dictionary(I=picture(pdf, 4, 4))))
    return {
        "Font": Dictionary(F=font(), E=embedded_font(pdf)),
        "XObject": Dictionary(
            I=picture(pdf, 4, 4), F=form(pdf, b"q 1 0 0 rg 0 0 9 9 re B /I Do", Resources=Dictionary())
        ),
        "ColorSpace": Dictionary(G=gold, D=device_n(pdf, "Cyan", "White"), P=Array([Name.Pattern, gold])),
        "Pattern": Dictionary(T=cell, S=Dictionary(PatternType=2, Shading=Dictionary(ColorSpace=gold))),
        "Shading": Dictionary(S=Dictionary(ShadingType=2, ColorSpace=gold)),
        "ExtGState": Dictionary(
            G=Dictionary(OP=True, OPM=1, ca=0.5, BM=Array([Name.Odd, Name.Screen])),
            M=Dictionary(SMask=Dictionary(S=Name.Alpha, G=masked), Font=Array([1])),
        ),
        "Properties": Dictionary(L=Dictionary(Type=Name.OCMD, VE=Array([Name.Not]))),
    }


def answer(path):
    try:
        return look(path).document
    except IntakeError as caught:
        refusal = caught
    assert refusal.file == str(path)
    assert refusal.next_step.endswith(".")
    return None


@settings(max_examples=300, deadline=2000, suppress_health_check=[HealthCheck.too_slow])
@given(contents)
def test_any_content(content):
    with tempfile.TemporaryDirectory() as folder:
        path = make(Path(folder) / "art.pdf", content, resources)
        facts = answer(path)
    if facts is None:
        return
    width, height = facts.width_mm + 1e-6, facts.height_mm + 1e-6
    for thing in (*facts.pictures, *facts.texts, *facts.strokes):
        area = thing.area
        assert area.x_mm >= 0 <= area.width_mm <= width
        assert area.y_mm >= 0 <= area.height_mm <= height
        assert area.x_mm + area.width_mm <= width
        assert area.y_mm + area.height_mm <= height
