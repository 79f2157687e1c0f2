"""What a document says as a whole: locks, intent, and what in it could act."""

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from preflight.errors import IntakeError
from preflight.intake.pdf import open_pdf, page_count
from tests.intake.pdf.making import LIMIT, add_page, look

ART = b"0 0 9 9 re f"
SCRIPT = Dictionary(S=Name.JavaScript, JS="app.alert('x')")


def root(**entries):
    def edit(pdf):
        for key, value in entries.items():
            pdf.Root[Name(f"/{key}")] = value(pdf) if callable(value) else value

    return edit


def annotation(**entries):
    def edit(pdf):
        made = {"Type": Name.Annot, "Subtype": Name.Link, "Rect": Array([0, 0, 9, 9]), **entries}
        pdf.pages[0].obj.Annots = Array([pdf.make_indirect(Dictionary(**made))])

    return edit


def names(kind, *pairs):
    return root(Names=lambda pdf: Dictionary({f"/{kind}": Dictionary(Kids=Array([pdf.make_indirect(
        Dictionary(Names=Array(list(pairs))))]))}))  # fmt: skip


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (root(OpenAction=SCRIPT), "a script that runs when the file is opened"),
        (root(OpenAction=Dictionary(S=Name.GoTo, Next=SCRIPT)), "a script that runs when the file is opened"),
        (root(AA=Dictionary(WP=SCRIPT)), "a script that runs when the file is printed, saved or closed"),
        (names("JavaScript", "run", SCRIPT), "a script that runs when the file is opened"),
        (names("EmbeddedFiles", "a", Dictionary(F="offer.zip")), "an attached file: offer.zip"),
        (root(AcroForm=Dictionary(XFA=Array([]))), "a form that is a program of its own (XFA)"),
        (annotation(A=Dictionary(S=Name.URI, URI="http://art.test/")), "a link to an outside address: http://art.test/"),
        (annotation(A=Dictionary(S=Name.Launch, F=Dictionary(F="run.exe"))),
         "a command that starts a program or opens a file: run.exe"),
        (annotation(A=Dictionary(S=Name.SubmitForm, F="http://art.test/")),
         "a command that sends data away: http://art.test/"),
        (annotation(Subtype=Name.FileAttachment, FS=Dictionary(UF="notes.txt")), "an attached file: notes.txt"),
        (annotation(Subtype=Name.RichMedia), "a film, a sound or a moving picture"),
        (annotation(AA=Dictionary(E=SCRIPT)), "a script in a form field or a button"),
        (lambda pdf: pdf.pages[0].obj.__setitem__("/AA", Dictionary(O=SCRIPT)),
         "a script that runs when the page is shown"),
    ],
)  # fmt: skip
def test_what_could_act_is_said_in_words(edit, words, make):
    assert look(make(ART, edit=edit)).document.active == (words,)


@pytest.mark.parametrize(
    "edit",
    [
        root(OpenAction=Array([0, Name.Fit])),
        root(OpenAction=Dictionary(S=Name.GoTo, D=Array([0, Name.Fit]))),
        annotation(A=Dictionary(S=Name.Named, N=Name.NextPage)),
        annotation(Dest=Array([0, Name.Fit])),
        root(AcroForm=Dictionary(Fields=Array([]))),
    ],
)
def test_turning_a_page_is_no_action(edit, make):
    assert look(make(ART, edit=edit)).document.active == ()


def test_the_same_link_counts_once_and_another_page_has_its_own(make):
    def edit(pdf):
        link = lambda to: Dictionary(Subtype=Name.Link, A=Dictionary(S=Name.URI, URI=to))  # noqa: E731
        pdf.pages[0].obj.Annots = Array([link("http://a.test"), link("http://a.test"), link("http://b.test")])
        add_page(pdf, ART)

    path = make(ART, edit=edit)
    assert [len(look(path, page).document.active) for page in (1, 2)] == [2, 0]


def test_words_from_a_file_are_made_safe(make):
    odd = "offer\u202e\n\x07" + "x" * 500
    (words,) = look(make(ART, edit=names("EmbeddedFiles", "a", Dictionary(UF=odd)))).document.active
    assert words.startswith("an attached file: offer xxx")
    assert len(words) < 120
    assert words.isprintable()


def test_a_tree_that_bites_its_tail_ends(make):
    def edit(pdf):
        node = pdf.make_indirect(Dictionary(Names=Array(["a", Dictionary(F="a.zip")])))
        node.Kids = Array([node, node])
        pdf.Root.Names = Dictionary(EmbeddedFiles=node)

    assert look(make(ART, edit=edit)).document.active == ("an attached file: a.zip",)


def test_a_chain_that_bites_its_tail_ends(make):
    def edit(pdf):
        action = pdf.make_indirect(Dictionary(S=Name.JavaScript))
        action.Next = action
        pdf.Root.OpenAction = action

    assert len(look(make(ART, edit=edit)).document.active) == 1


def test_output_intent(make):
    profile = lambda pdf: Array([Dictionary(OutputConditionIdentifier="House film", S=Name.GTS_PDFX)])  # noqa: E731
    assert look(make(ART, edit=root(OutputIntents=profile))).document.output_intent == "House film"
    assert look(make(ART)).document.output_intent is None


@pytest.mark.parametrize("strength", [2, 3, 4, 6])
def test_an_owner_password_alone_does_not_lock(strength, make):
    path = make(
        ART,
        save={
            "encryption": pikepdf.Encryption(owner="boss", user="", R=strength, aes=strength > 3, metadata=strength > 3)
        },
    )
    assert look(path).document.encrypted
    assert not look(make(ART, name="plain.pdf")).document.encrypted


@pytest.mark.parametrize("strength", [2, 3, 4, 6])
def test_a_password_to_open_locks(strength, make):
    path = make(
        ART,
        save={
            "encryption": pikepdf.Encryption(
                owner="boss", user="me", R=strength, aes=strength > 3, metadata=strength > 3
            )
        },
    )
    for opener in (lambda: open_pdf(path, pixel_limit=LIMIT), lambda: page_count(path)):
        with pytest.raises(IntakeError, match="password") as caught:
            opener()
        assert "without" in caught.value.next_step
        assert caught.value.rule == "locked-file"


def test_a_lock_of_an_unknown_kind(make):
    path = make(
        ART,
        save={
            "encryption": pikepdf.Encryption(owner="boss", user="", R=3, aes=False, metadata=False),
            "static_id": True,
        },
    )
    path.write_bytes(path.read_bytes().replace(b"/Filter /Standard", b"/Filter /Certific"))
    with pytest.raises(IntakeError, match="password"):
        open_pdf(path, pixel_limit=LIMIT)


def test_pages(make):
    def edit(pdf):
        add_page(pdf, b"1 0 0 rg 0 0 9 9 re f", box=(0, 0, 50, 50))
        add_page(pdf, b"0 0 1 rg 0 0 9 9 re f", box=(0, 0, 60, 50))

    path = make(ART, edit=edit)
    pages = open_pdf(path, pixel_limit=LIMIT)
    assert [page.page for page in pages] == [1, 2, 3]
    assert {page.name for page in pages} == {"art.pdf"}
    assert [page.document.pages for page in pages] == [3, 3, 3]
    assert [round(page.document.width_mm, 3) for page in pages] == [50.8, 17.639, 21.167]
    assert page_count(path) == 3


def test_a_document_of_very_many_pages_is_no_artwork(make):
    def edit(pdf):
        pdf.pages.extend([pdf.pages[0]] * 2_000)

    with pytest.raises(IntakeError, match="2,001 pages"):
        page_count(make(ART, edit=edit))


def test_a_drawing_saved_without_its_pdf_part(make):
    def fonts(pdf):
        return {"Font": Dictionary(F=Dictionary(Subtype=Name.Type1, BaseFont=Name.Helvetica))}

    line = b"BT /F 9 Tf 5 50 Td (This drawing was saved) Tj 0 -12 Td (without PDF Content.) Tj ET"
    with pytest.raises(IntakeError, match="without its PDF part") as caught:
        look(make(line, fonts))
    assert "PDF-compatible" in caught.value.next_step
    assert look(make(line + b" 0 0 m 9 9 l S", fonts)).document.texts
