"""Settings files: every slip an owner makes gets the file, the line, the key, a plain sentence and the next step."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from preflight.errors import SettingsError
from preflight.tomlfile import Section, TomlFile, load_toml


def write(folder: Path, text: str) -> Path:
    path = folder / "shop.toml"
    path.write_bytes(text.encode("utf-8"))
    return path


def slip(path: Path) -> SettingsError:
    with pytest.raises(SettingsError) as caught:
        load_toml(path)
    assert caught.value.file == str(path)
    return caught.value


# text, line, key, words of the message, words of the next step
SYNTAX = [
    ("a = 0,18", 1, "a", "has a comma", "with a point, not a comma (0.18)"),
    ("[film]\ngap = 0,5mm", 2, "gap", "decimal comma and no quotes", 'gap = "0.5mm"'),
    ("a = 1.000,50", 1, "a", "has a comma", "nothing between the thousands"),
    ("width = 330mm", 1, "width", "text without quotes", 'width = "330mm"'),
    ("a = 330 mm # wide", 1, "a", "330 mm is text without quotes", 'a = "330 mm"'),
    ("a = yes", 1, "a", "yes is not known", "a = true"),
    ("a = No", 1, "a", "No is not known", "a = false"),
    ("a = True", 1, "a", "True is not known", "a = true"),
    ("a = “Our shop”", 1, "a", "curly quotes", 'a = "Our shop"'),
    ("a = „Our shop“", 1, "a", "curly quotes", 'a = "Our shop"'),
    ('# one\n\n[f]\na = 1\nb = 2\na = "x"', 6, "f.a", "'f.a' stands twice, here and on line 4", "Keep one"),
    ("[f]\na = 1\n[f]\nb = 1", 3, "f", "stands twice, here and on line 1", "Keep one"),
    ("a.b = 1\na = 2", 2, "a", "sets again", "Keep one"),
    ('logo = "C:\\Users\\me\\logo.png"', 1, "logo", "backslash", '"C:/Users/me/logo.png"'),
    ("logo = C:\\logo.png", 1, "logo", "text without quotes", '"C:/logo.png"'),
    ('a = "x', 1, "a", "no closing quote", 'Add it: "x"'),
    ('a = ["x",\n"y"\nb = 1', 1, "a", "a list starts here and never ends", "]"),
    ('a = """x\nb = 1', 1, "a", "a long text starts here and never ends", '"""'),
    ("a =", 1, "a", "nothing stands after the equals sign", "Write the value"),
    ("a = # 5", 1, "a", "nothing stands after the equals sign", "Write the value"),
    ("just words", 1, None, "no equals sign", "name = value"),
    ("a: 1", 1, None, "no equals sign", "name = value"),
    ("// note", 1, None, "no setting", "#"),
    ("[film", 1, None, "not a heading", "square brackets"),
    ("a = 012", 1, "a", "starts with a zero", "12"),
    ("a = .5", 1, "a", "no digit on one side of the point", "0.5"),
    ("a\u00a0= 1", 1, None, "invisible character", "by hand"),
    ('a = "x" y', 1, "a", "y stands after the closing quote", "one pair of quotes"),
    ("a = [x, y]", 1, "a", "the list cannot be read", "quotes"),
    ("é = 1", 1, None, "cannot be the name", "letters"),
    ("a = 1:40", 1, "a", "text without quotes", '"1:40"'),
    ("a = 1\r\nb = 0,5\r\n", 2, "b", "has a comma", "0.5"),
]


@pytest.mark.parametrize(("text", "line", "key", "what", "step"), SYNTAX, ids=[case[0][:20] for case in SYNTAX])
def test_a_file_that_is_no_toml(tmp_path: Path, text: str, line: int, key: str | None, what: str, step: str) -> None:
    error = slip(write(tmp_path, text))
    assert (error.line, error.key) == (line, key)
    assert what in error.what
    assert step in error.next_step


@pytest.mark.parametrize(
    ("raw", "what"),
    [
        ('a = "ü"'.encode("latin-1"), "not saved as UTF-8"),
        ("a = 1".encode("utf-16"), "UTF-16"),
        ("a = 1".encode("utf-16-le"), "UTF-16"),
        (b"a = " + b"9" * 5000, "number that is too long"),
        (b"a = " + b"[" * 50_000, "too deeply"),
        (b"a = 1\n" + b"a." * 200 + b"b = 1", "more than 100 points"),
        (b"# " + b"x" * 300_000, "larger than 256 kB"),
    ],
)
def test_a_file_that_is_no_text_for_us(tmp_path: Path, raw: bytes, what: str) -> None:
    path = tmp_path / "shop.toml"
    path.write_bytes(raw)
    assert what in slip(path).what


def test_the_line_of_a_wrong_character_is_told(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_bytes(b'a = 1\nb = "\xff"\n')
    assert slip(path).line == 2


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_bytes(b"\xef\xbb\xbfa = 1\r\n")
    assert load_toml(path).data == {"a": 1}


def test_no_file_and_a_folder(tmp_path: Path) -> None:
    assert "no such file" in slip(tmp_path / "none.toml").what
    assert "folder" in slip(tmp_path).what
    assert "no such file" in slip(tmp_path / "none\0.toml").what


def test_what_a_file_says_is_safe_to_print(tmp_path: Path) -> None:
    error = slip(write(tmp_path, "a = \x1b[31mred\x07" + "x" * 5000))
    assert str(error).replace(str(tmp_path), "").isprintable()
    assert len(str(error)) < 700


def test_lines_of_keys(tmp_path: Path) -> None:
    text = 'a = 1\n[f]\n\nb = """\nc = 2\n"""\nlist = [\n  "x",  # ]\n  "y"]\n"d e" = 3\n'
    text += "[f.g]\nh.i = 4\n[[p]]\nq=1\n[[p]]\nq=2"
    file = load_toml(write(tmp_path, text))
    keys = ("a", "f", "f.b", "f.list", "f.d e", "f.g", "f.g.h.i", "p.0.q", "p.1.q", "f.c", "none")
    assert [file.line_of(key) for key in keys] == [1, 2, 4, 7, 10, 11, 12, 14, 16, 2, None]


def section(**data: object) -> Section:
    return Section(TomlFile("shop.toml", {"s": data}, "[s]\n" + "\n".join(f"{key} = 1" for key in data)), "s", data)


# method, value, words of the message, words of the next step
VALUES = [
    ("take_text", 5, "5 is not text", '"5"'),
    ("take_text", "", "empty", "delete the line"),
    ("take_text", " \n", "empty", "delete the line"),
    ("take_text", "C:\new", "invisible character", "forward slashes"),
    ("take_text", "x" * 1001, "1001 characters", "at most 1000"),
    ("take_texts", "red", "not a list", '["red"]'),
    ("take_texts", ["red", 5], "5 is not text", '"5"'),
    ("take_flag", "yes", "neither true nor false", "= true"),
    ("take_flag", 1, "neither true nor false", "= true"),
    ("take_number", "5", "not a number", "without quotes"),
    ("take_number", "0,5", "not a number", "decimal point"),
    ("take_number", True, "not a number", "without quotes"),
    ("take_number", float("nan"), "no number", "plain number"),
    ("take_number", float("inf"), "no number", "plain number"),
    ("take_number", -1, "less than it can be", "from 0 to"),
    ("take_whole", 1.5, "not a whole number", "decimal point"),
    ("take_whole", True, "not a whole number", "decimal point"),
    ("take_whole", 10**30, "more than it can be", "from 0 to"),
    ("take_length", 330, "330 has no unit", '"330mm"'),
    ("take_length", "330", "has no unit", "330mm"),
    ("take_length", "12 parsecs", "unit this program does not know", "mm, cm"),
    ("take_length", "0,3mm", "decimal comma", "0.3mm"),
    ("take_length", "9999m", "more than it can be", "from 0mm to"),
    ("take_mass", 420, "420 has no unit", '"420g"'),
    ("take_mass", "420mm", "unit this program does not know", "g, kg"),
]


@pytest.mark.parametrize(("method", "value", "what", "step"), VALUES)
def test_a_value_of_the_wrong_kind(method: str, value: object, what: str, step: str) -> None:
    with pytest.raises(SettingsError) as caught:
        getattr(section(x=value), method)("x")
    error = caught.value
    assert (error.file, error.line, error.key) == ("shop.toml", 2, "s.x")
    assert what in error.what
    assert step in error.next_step


def test_good_values_are_taken() -> None:
    good = section(a="x", b=["x", "y"], c=True, d=2, e=2.5, f=7, g="1.5cm", h="2kg", i="fine", j="0mm")
    assert good.take_text("a") == "x"
    assert good.take_texts("b") == ("x", "y")
    assert good.take_flag("c") is True
    assert good.take_number("d") == 2.0
    assert good.take_number("e") == 2.5
    assert good.take_whole("f") == 7
    assert good.take_length("g") == 15.0
    assert good.take_mass("h") == 2000.0
    assert good.take_choice("i", ("fine", "fast")) == "fine"
    assert good.take_length("j") == 0.0
    good.finish()


def test_what_is_absent_is_the_default_or_missing() -> None:
    empty = section()
    assert empty.take_number("x", 5.0) == 5.0
    assert empty.take_text("y", None) is None
    with pytest.raises(SettingsError, match="this setting is missing"):
        empty.take_number("z")


def test_an_unknown_setting_and_the_nearest_known_one() -> None:
    typo = section(widht="330mm")
    typo.take_length("width", 330.0)
    typo.take_length("gap", 5.0)
    with pytest.raises(SettingsError) as caught:
        typo.finish()
    assert caught.value.what == "'widht' is not a setting of [s]"
    assert caught.value.next_step == "Did you mean width? Known here: width, gap."
    assert caught.value.line == 2


def test_an_unknown_choice_and_the_nearest_known_one() -> None:
    with pytest.raises(SettingsError) as caught:
        section(mode="nomal").take_choice("mode", ("fine", "normal"))
    assert caught.value.next_step == 'Did you mean normal? Choose one of "fine", "normal".'


def test_a_value_where_a_group_belongs() -> None:
    with pytest.raises(SettingsError, match="5 stands where a group belongs"):
        section(film=5).section("film")


SNIPPETS = st.lists(
    st.sampled_from(
        [
            "a",
            "b.c",
            " = ",
            "[",
            "]",
            "[[",
            "]]",
            '"',
            "'",
            '"""',
            "\n",
            "#",
            "\\",
            "0,5",
            "1.5",
            "{",
            "}",
            ",",
            "yes",
            "“",
        ]
    ),
    max_size=25,
).map("".join)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=300, deadline=None)
@given(text=st.one_of(SNIPPETS, st.text(max_size=60)))
def test_any_text_is_read_or_answered(tmp_path: Path, text: str) -> None:
    path = tmp_path / "any.toml"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    answer = loaded(path)
    if isinstance(answer, SettingsError):
        assert answer.what
        assert answer.next_step
        assert answer.line is None or 1 <= answer.line <= text.count("\n") + 1


def loaded(path: Path) -> TomlFile | SettingsError:
    try:
        return load_toml(path)
    except SettingsError as error:
        return error
