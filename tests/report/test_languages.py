"""The languages of the report: nothing missing, figures in the reader's way, and the shop's own words left alone."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import pytest

from docs.messages import Told, everything, slips_in
from docs.sentences import clauses_and_sentences
from preflight.cli import main
from preflight.errors import SettingsError, UsageError
from preflight.language import ENGLISH, LANGUAGES, Language, catalogue_path, load_language
from preflight.measure.catalogue import MEASURES
from preflight.model import CHANNELS, Measurement, Verdict
from preflight.pofile import read_entries
from preflight.report.content import Content, content
from preflight.report.html import Shown, index_page, page
from preflight.rulebook import load_rulebook, sample
from preflight.rulebook.words import Reader, figures_of, show
from preflight.shop import Letterhead, Shop, load_shop
from tests.report.html.test_pages import views
from tests.report.mirror import capitals, mirror
from tests.report.samples import SIZE, finding, report, saving_report, unordered_report, unread_report

OTHERS = tuple(code for code in LANGUAGES if code != "en")
each_language = pytest.mark.parametrize("code", OTHERS)
MESSAGES = everything()
#: What no language changes: units, names of formats and inks, the sum of a file, rules by their id.
SAME = re.compile(
    r"mm²?|cm²?|in²?|g|m|px|pt|ppi|[0-9a-f]{64}|#[0-9a-f]{6}|[a-z]+(-[a-z]+)*\.png|\d+[a-d]|ΔE\d+|rgb|navy|fine|Fair|EUR|"
    r"PNG|Coated|reference|order|QR|code|shop|preflight|[abc]|order"
)


# --- the catalogues ---------------------------------------------------------------------------------------------------


def entries(code: str) -> dict[tuple[str, str], tuple[tuple[str, ...], bool]]:
    text = catalogue_path(code).read_text(encoding="utf-8")
    return {
        (each.context, each.message): (each.translations, each.fuzzy) for each in read_entries(text) if each.message
    }


@each_language
def test_no_translation_is_missing(code: str) -> None:
    known = entries(code)
    missing = [told.name for told in MESSAGES if not all(known.get((told.context, told.message), (("",), False))[0])]
    assert not missing, f"run: python docs/make_catalogues.py, then translate {len(missing)} messages"


@each_language
def test_no_translation_waits_to_be_looked_over(code: str) -> None:
    assert not [message for (_, message), (_, fuzzy) in entries(code).items() if fuzzy]


@each_language
def test_no_translation_is_left_over(code: str) -> None:
    wanted = {(told.context, told.message) for told in MESSAGES}
    assert not entries(code).keys() - wanted, "run: python docs/make_catalogues.py"
    assert "#~" not in catalogue_path(code).read_text(encoding="utf-8")


@each_language
def test_translations_keep_names_sentences_and_full_stops(code: str) -> None:
    known = entries(code)
    slips = [
        (told.name, slip)
        for told in MESSAGES
        for slip in slips_in(told, known.get((told.context, told.message), ((), False))[0])
    ]
    assert not slips


@each_language
def test_the_files_are_as_the_script_writes_them(code: str) -> None:
    pytest.importorskip("babel", reason="Babel comes with the extra 'dev'")
    from docs.make_catalogues import read, text_of, updated

    catalog, _ = updated(code, read(code), MESSAGES)
    assert catalogue_path(code).read_text(encoding="utf-8") == text_of(code, catalog), "run: docs/make_catalogues.py"


@each_language
def test_our_reader_reads_what_the_library_reads(code: str) -> None:
    pofile = pytest.importorskip("babel.messages.pofile", reason="Babel comes with the extra 'dev'")
    with catalogue_path(code).open("rb") as stream:
        theirs = {
            (each.context or "", each.id if isinstance(each.id, str) else each.id[0]): (
                (each.string,) if isinstance(each.string, str) else tuple(each.string),
                each.fuzzy,
            )
            for each in pofile.read_po(stream)
            if each.id
        }
    assert entries(code) == theirs
    assert len(theirs) > 800


def test_the_reader_knows_quotes_lines_contexts_and_what_is_out_of_use() -> None:
    text = (
        'msgid ""\nmsgstr "Plural-Forms: nplurals=2; plural=(n > 1);\\n"\n\n'
        '#, fuzzy\nmsgctxt "a \\"b\\""\nmsgid "one\\n"\n"two\\\\n"\nmsgstr ""\n"eins"\n"zwei\\t"\n\n'
        'msgid "x"\nmsgid_plural "xs"\nmsgstr[0] "y"\nmsgstr[1] "ys"\n\n#~ msgid "old"\n#~ msgstr "alt"\n'
    )
    head, one, more = read_entries(text)
    assert not head.message
    assert (one.context, one.message, one.translations, one.fuzzy) == ('a "b"', "one\ntwo\\n", ("einszwei\t",), True)
    assert (more.message, more.plural, more.translations, more.fuzzy) == ("x", "xs", ("y", "ys"), False)


@pytest.mark.parametrize(
    ("told", "text", "slip"),
    [
        (Told("", "{a} of {b}"), "{a}", "the names in braces differ"),
        (Told("", "Stop."), "Halt", "the full stop is missing"),
        (Told("", "Stop"), "Halt.", "a full stop too many"),
        (Told("", "Stop"), "Halt ", "spaces at an end"),
        (Told("rule x seen", "It is {value} wide. It is {aim}."), "Es ist {value} statt {aim}.", "1 sentences for 2"),
        (Told("rule x seen", "It is {value}. It is {aim}."), "Es ist {aim}. Es ist {value}.", "braces differ in"),
        (Told("rule x seen", "{value|dot|dots}."), "{value|Punkt}.", "is not {name|one|several}"),
        (Told("", "so"), "{so", "a brace has no partner"),
        (Told("", "no,one,two,three,four,five,six,seven,eight,nine,ten"), "kein,eins", "eleven numbers"),
    ],
)
def test_a_slip_in_a_translation_is_seen(told: Told, text: str, slip: str) -> None:
    assert any(slip in each for each in slips_in(told, [text]))


def test_what_is_collected_is_what_the_sources_say() -> None:
    known = {(told.context, told.message) for told in MESSAGES}
    assert ("", "Point by point") in known
    assert ("", "at the bottom left") in known  # reaches say() through part_of
    assert {("", name) for name in CHANNELS} <= known
    assert (
        "rule thin-line operator hint",
        "Compare with twice your choke: a line below that gets no white at all.",
    ) in known
    assert ("clause", "it is {what}, though its name ends in {suffix}") in known
    assert ("sentence", "Send it again: the copy or the upload did not arrive.") in known
    assert ("thing", "{what} that runs when the file is opened") in known
    assert not [message for context, message in known if context == "sentence" and "\n" in message]
    assert len(list(clauses_and_sentences(lambda *told, **_: told))) > 200


# --- everything on a page passes through the catalogue ----------------------------------------------------------------


def texts_of(value: Any) -> Iterator[str]:
    """Every text of a report's content."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, (tuple, list)):
        yield from (text for each in value for text in texts_of(each))
    elif isinstance(value, dict):
        yield from (text for each in value.values() for text in texts_of(each))
    elif is_dataclass(value) and type(value).__name__ not in ("Mark", "Picture", "CloseUp", "Swatch"):
        yield from (text for each in fields(value) for text in texts_of(getattr(value, each.name)))


def small_words(told: Content) -> set[str]:
    """Words that are not in capitals, and should be."""
    bare = replace(
        told, verdict=Verdict.STOP, file="", findings=tuple(replace(each, rule="") for each in told.findings)
    )
    words = (word for text in texts_of(bare) for word in re.findall(r"[\w#.²Δ-]*[a-z][\w#.²-]*", text))
    return {word for word in words if not SAME.fullmatch(word.rstrip(".")) and word not in ("stop", "ask", "note")}


@pytest.mark.parametrize("rule", load_rulebook(Shop.default()).rules, ids=lambda rule: rule.id)
def test_every_word_of_a_page_is_in_the_catalogue(rule: Any) -> None:
    language = mirror()
    mine = next(each for each in load_rulebook(Shop.default(), None, language).rules if each.id == rule.id)
    said = sample(mine, language)
    assert said is not None
    places = replace(said, places=report().findings[0].places, places_total=9)
    measures = {rule.measure: Measurement(rule.measure, said.value, rule.unit)}
    fine = (mine.words.fine,) if mine.words.fine else ()
    made = replace(report(Verdict.STOP, places), fine=fine, assumptions=(), measures=measures)
    details = " ".join(MEASURES[rule.measure].details.values())
    left = {word for word in small_words(content(made, views(), language)) if word.rstrip(".") not in details}
    assert left <= {rule.id}


@pytest.mark.parametrize(
    "made",
    [report(Verdict.READY), saving_report(), unread_report(), unordered_report()],
    ids=["ready", "saving", "unread", "unordered"],
)
def test_every_frame_of_a_page_is_in_the_catalogue(made: Any) -> None:
    bare = replace(made, findings=(), assumptions=(), measures={})
    assert not small_words(content(bare, views(), mirror()))


def test_the_page_is_marked_with_its_language() -> None:
    shown, head = Shown(report(), views()), Letterhead()
    assert '<html lang="de">' in page(shown, head, None, mirror())
    assert '<html lang="fr">' in index_page([("a.html", shown), ("b.html", shown)], head, None, mirror("fr"))
    assert '<html lang="en">' in page(shown, head)


# --- rules ------------------------------------------------------------------------------------------------------------


def test_what_the_shop_wrote_stays_as_the_shop_wrote_it(tmp_path: Path) -> None:
    own = tmp_path / "own"
    own.mkdir()
    text = (Path(__file__).parents[2] / "rules" / "thin-line.toml").read_text(encoding="utf-8")
    (own / "our-line.toml").write_text(text.replace('id = "thin-line"', 'id = "our-line"'), encoding="utf-8")
    file = tmp_path / "shop.toml"
    file.write_text('rules_folder = "own"\n[rules.thin-gap.customer]\nfix = "Call us."\n', encoding="utf-8")
    rulebook = load_rulebook(load_shop(file), None, mirror())
    assert rulebook.rule("our-line").words.title == "Lines too thin to print"
    assert rulebook.rule("thin-line").words.title == "LINES TOO THIN TO PRINT"
    assert rulebook.rule("thin-gap").words.fix == "Call us."
    assert rulebook.rule("thin-gap").words.why.isupper()


def test_english_rules_are_those_of_the_files() -> None:
    assert load_rulebook(Shop.default()) == load_rulebook(Shop.default(), None, ENGLISH)


@each_language
def test_the_words_of_every_rule_fill(code: str) -> None:
    language = load_language(code)
    for rule in load_rulebook(Shop.default(), None, language).rules:
        said = sample(rule, language)
        assert said is not None
        assert not re.search(r"[{}|]", f"{said.seen} {said.why} {said.fix} {said.as_is} {said.operator}"), rule.id


#: Words that blame or beg, as in the English rules.
BANNED = {
    "es": ("por favor", "lo siento", "lamentamos", "error", "inválid", "prohibid"),
    "pt": ("por favor", "desculpe", "lamentamos", "erro", "inválid", "proibid"),
    "de": ("bitte", "leider", "entschuldig", "fehler", "ungültig", "verboten"),
    "fr": ("veuillez", "s’il vous plaît", "désolé", "erreur", "invalide", "interdit"),
}
#: English needs fewer words for the same: 25 there.
MOST_WORDS = 30


@each_language
def test_what_customers_read_is_short_and_blames_nobody(code: str) -> None:
    for (context, _), (told, _) in entries(code).items():
        if (context and not context.startswith("rule ")) or context.endswith(" source"):
            continue
        for text in told:
            assert not [word for word in BANNED[code] if re.search(rf"\b{word}", text.lower())], text
            for sentence in re.split(r"(?<=[.!?:])\s+", text):
                assert len(sentence.split()) <= MOST_WORDS, sentence


# --- figures ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "shown", "length", "size"),
    [
        ("en", "0.31 mm", "1.5 mm", "186.7 × 93.2 mm"),
        ("de", "0,31 mm", "1,5 mm", "186,7 × 93,2 mm"),
        ("fr", "0,31 mm", "1,5 mm", "186,7 × 93,2 mm"),
    ],
)
def test_figures_are_written_in_the_readers_way(code: str, shown: str, length: str, size: str) -> None:
    language = Language(code)
    assert show(0.31, "mm", Reader.CUSTOMER, language=language) == shown
    assert language.length(1.5) == length
    assert language.size(186.7, 93.2) == size


def test_inches() -> None:
    language = Language(inches=True)
    assert show(0.5, "mm", language=language) == "0.02 in"
    assert show(645.16, "mm2", language=language) == "1 in²"
    assert language.size(254, 127) == "10 × 5 in"
    assert language.detail("12.7 mm") == "0.5 in"
    assert Language("de", inches=True).detail("200 x 150 mm") == "7,87 × 5,91 in"
    rule = load_rulebook(Shop.default(), None, language).rule("hairline-stroke")
    assert rule.words.fix == "Make these lines at least 0.02 in wide. Or remove them."
    said = sample(load_rulebook(Shop.default(), None, language).rule("low-resolution"), language)
    assert said is not None
    assert "At 7.87 × 5.91 in" in said.seen
    assert " mm" not in said.seen + said.fix


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("12 mm", "12 mm"),
        ("0.4 mm", "0,4 mm"),
        ("45.5 mm²", "45,5 mm²"),
        ("800 x 600 pixels", "800 × 600 PIXELS"),
        ("2.7", "2,7"),
        ("#1d1d1f", "#1d1d1f"),
        ("order 10.42 mm", "order 10.42 mm"),
    ],
)
def test_details_of_measurements_are_written_anew(text: str, told: str) -> None:
    assert mirror().detail(text) == told
    assert ENGLISH.detail(text) == text


def test_a_text_from_the_file_stays_as_it_is() -> None:
    details = {"text": "12.5", "font": "white", "names": "white, Warm 2.5 and 3 more", "colour": "white"}
    measure = Measurement("smallest-text", 4.0, "pt", details=details)
    figures = figures_of(measure, SIZE, Reader.CUSTOMER, language=mirror())
    assert (figures["text"], figures["font"], figures["colour"]) == ("12.5", "white", "WHITE")
    assert figures["names"].endswith("Warm 2.5 AND 3 MORE")


# --- what is put together before a language is known ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("context", "text", "told"),
    [
        ("clause", "the file is empty", "THE FILE IS EMPTY"),
        (
            "clause",
            "it is a web page, not a picture, though its name ends in .png",
            "IT IS A WEB PAGE, NOT A PICTURE, THOUGH ITS NAME ENDS IN .png",
        ),
        (
            "clause",
            "the drawing is too complex to open safely: it has more than 200,000 elements",
            "THE DRAWING IS TOO COMPLEX TO OPEN SAFELY: IT HAS MORE THAN 200\u00a0000 ELEMENTS",
        ),
        ("clause", "reading it needs more than 1.5 GB of memory", "READING IT NEEDS MORE THAN 1,5 GB OF MEMORY"),
        (
            "thing",
            "a script that runs when the file is opened: http://x.example/a.js",
            "A SCRIPT THAT RUNS WHEN THE FILE IS OPENED: http://x.example/a.js",
        ),
        (
            "sentence",
            "The file holds 3 frames; only the first is checked.",
            "THE FILE HOLDS 3 FRAMES; ONLY THE FIRST IS CHECKED.",
        ),
    ],
)
def test_reasons_are_retold(context: str, text: str, told: str) -> None:
    assert mirror().retell(context, text) == told
    assert ENGLISH.retell(context, text) == text


def test_what_nobody_can_retell_is_left_to_the_shop() -> None:
    assert mirror().retell("clause", "it cannot be read: Ghostscript took a holiday") is None
    assert mirror().retell("clause", "shop.toml, line 3: it has no unit") is None
    details = {"reason": "something new", "next_step": "Do something new."}
    measure = Measurement("file-unreadable", 1.0, "count", details=details)
    rulebook = load_rulebook(Shop.default(), None, mirror())
    (told,), _ = rulebook.judge({"file-unreadable": measure}, None)
    assert told.seen == "THE FILE CANNOT BE READ."
    assert told.fix == "ASK US WHAT WE NEED."
    assert "something new" in told.operator


# --- choosing ---------------------------------------------------------------------------------------------------------


def run(*arguments: str) -> int:
    with pytest.raises(SystemExit) as ended:
        main(list(arguments))
    return int(str(ended.value.code))


@pytest.fixture
def order(tmp_path: Path) -> Path:
    """A file that is no picture, and a shop that writes German."""
    (tmp_path / "art.png").write_bytes(b"")
    (tmp_path / "shop.toml").write_text('language = "de"\n', encoding="utf-8")
    return tmp_path


def test_the_shop_file_sets_the_language_and_the_option_wins(order: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop, art = str(order / "shop.toml"), str(order / "art.png")
    run("check", art, "--shop", shop, "--format", "html")
    assert '<html lang="de">' in capsys.readouterr().out
    run("check", art, "--shop", shop, "--format", "html", "--language", "FR")
    assert '<html lang="fr">' in capsys.readouterr().out


def test_text_and_json_stay_english(order: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for written in ("text", "json"):
        run("check", str(order / "art.png"), "--shop", str(order / "shop.toml"), "--format", written)
        assert "neither check nor print" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        (("--language", "nl", "--format", "html"), "Choose one of en (English), es (Español), pt (Português), de"),
        (("--language", "deutsch", "--format", "html"), "Did you mean de?"),
        (("--language", "de"), "--format text is always in English."),
        (("--language", "de", "--format", "json"), "--format json is always in English."),
    ],
)
def test_a_slip_in_the_option_is_answered(
    order: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], what: str
) -> None:
    assert run("check", str(order / "art.png"), *arguments) == 2
    assert what in capsys.readouterr().err


def test_an_unknown_language_is_refused_and_a_missing_file_named(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    from preflight.commands import reportlanguage

    with pytest.raises(UsageError, match="is not known"):
        reportlanguage.report_language("xx", "html", Shop.default())
    monkeypatch.setattr("preflight.language.catalogue_path", lambda code: tmp_path / code)
    with pytest.raises(SettingsError, match="Install the program again"):
        reportlanguage.report_language("de", "html", Shop.default())


def test_a_check_in_english_reads_no_catalogue() -> None:
    import subprocess
    import sys

    code = "import sys, preflight.commands.check, preflight.report.html; print('preflight.pofile' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"


def test_capitals_leave_names_in_braces() -> None:
    assert capitals("{value|dot lies|dots lie} at {left}.") == "{value|DOT LIES|DOTS LIE} AT {left}."
    assert finding().title != capitals(finding().title)
