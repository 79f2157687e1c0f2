"""The shop file: what it may say, every slip in it, and the starter file."""

import pickle
from dataclasses import fields
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from preflight.errors import SettingsError
from preflight.shop import PRICES, Laydown, Machine, Shop, describe_shop, load_shop, write_shop

#: What a logo is known by (PNG, ISO/IEC 15948, 5.2).
PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"


def load(folder: Path, text: str) -> Shop:
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return load_shop(path)


def test_the_starter_file_loads_to_exactly_the_default(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    write_shop(path)
    shop = load_shop(path)
    for field in fields(Shop):
        if field.compare:
            assert getattr(shop, field.name) == getattr(Shop.default(), field.name), field.name


def test_every_line_of_the_starter_file_that_is_commented_out_can_be_used(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    write_shop(path)
    for name in ("logo.png", "our-film.icc"):
        (tmp_path / "profiles").mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(PNG_SIGNATURE)
        (tmp_path / "profiles" / name).write_bytes(b"")
    (tmp_path / "our-rules").mkdir()
    head, body = path.read_text(encoding="utf-8").split("\nname = ", 1)
    lines = [line.removeprefix("# ") if is_setting(line) else line for line in f"name = {body}".splitlines()]
    shop = load(tmp_path, head + "\n" + "\n".join(lines))
    assert shop.film.core_g == 420
    assert shop.letterhead.lines == ("12 Example Street", "shop@example.com")
    assert shop.letterhead.logo == tmp_path / "logo.png"
    assert shop.separation.profile == tmp_path / "profiles" / "our-film.icc"
    assert shop.rules_folder == tmp_path / "our-rules"
    assert shop.rules["thin-line"].limits == {"stop": 0.30, "ask": 0.45}
    assert shop.rules["thin-line"].units == {"stop": "mm", "ask": "mm"}
    assert shop.rules["low-resolution"].kinds == {"line-art": {"ask": 250.0}}
    assert shop.rules["stray-specks"].off
    assert list(shop.rules["low-contrast"].customer) == ["fix"]


def is_setting(line: str) -> bool:
    return line.startswith("# [") or (line.startswith("# ") and line[2:].split(" ")[0].isidentifier() and " = " in line)


def test_an_empty_file_is_the_default_too(tmp_path: Path) -> None:
    assert load(tmp_path, "") == Shop.default()


def test_the_starter_file_is_never_written_over_another(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(SettingsError, match="there already and is not overwritten"):
        write_shop(path)
    assert path.read_text(encoding="utf-8") == "mine"
    with pytest.raises(SettingsError, match="this is a folder"):
        write_shop(tmp_path)
    with pytest.raises(SettingsError, match="there is no folder"):
        write_shop(tmp_path / "none" / "shop.toml")


def test_pixel_limit_is_width_times_length_times_resolution(tmp_path: Path) -> None:
    # 254 mm at 100 ppi = 1000 px, 2540 mm = 10,000 px
    shop = load(tmp_path, '[film]\nwidth = "254mm"\nprintable = "250mm"\nlongest_print = "2.54m"\nfinest_ppi = 100')
    assert shop.pixel_limit == 10_000_000
    assert 900e6 < Shop.default().pixel_limit < 950e6


def test_a_shop_of_its_own(tmp_path: Path) -> None:
    shop = load(
        tmp_path,
        """
name = "Kite & Anchor"
currency = "PLN"
default_mode = "slow"
[letterhead]
accent = "Navy"
paper = "letter"
shop_part = false
[film]
width = "60cm"
printable = "22.5in"
gap = "0mm"
roll = "50m"
core = "0.4kg"
[white]
choke = "0mm"
[laydown]
white = { likely = 20, least = 19.5, most = 21 }
[powder]
likely = 80
least = 70
most = 95
[prices]
colour_ink_per_kg = 100
white_ink_per_kg = 90
powder_per_kg = 22
film_per_m = 2.2
[waste]
consumables_percent = 7
[modes]
slow = 12
[machine]
memory_gb = 3.5
seconds = 60
[garments]
"Sand  Beige" = "#cbA"
""",
    )
    assert shop.name == shop.letterhead.name == "Kite & Anchor"
    assert shop.letterhead.accent == "#000080"
    assert (shop.letterhead.paper, shop.letterhead.shop_part) == ("letter", False)
    assert any("letter paper, without the part for the shop" in line for line in describe_shop(shop))
    assert (shop.film.width_mm, shop.film.printable_mm, shop.film.gap_mm) == (600, pytest.approx(571.5), 0)
    assert (shop.film.roll_m, shop.film.core_g) == (50, 400)
    assert shop.choke_mm == 0
    assert shop.laydown["white"] == Laydown(20, 19.5, 21)
    assert shop.laydown["cyan"] == Shop.default().laydown["cyan"]
    assert (shop.powder.g_per_m2, shop.powder.low, shop.powder.high, shop.powder.price_per_kg) == (80, 70, 95, 22)
    assert shop.prices.ink_per_kg("white") == 90
    assert shop.prices.ink_per_kg("cyan") == 100
    assert (shop.waste.consumables, shop.waste.reprints) == (0.07, 0.025)
    assert shop.modes == {"slow": 12}
    assert shop.machine == Machine(3.5, 60, 0.25)
    assert shop.garments == {"sand beige": "#ccbbaa"}
    assert shop.assumptions == ()
    assert pickle.loads(pickle.dumps(shop)) == shop


def test_prices_that_nobody_set_are_said_to_be_the_examples(tmp_path: Path) -> None:
    assert Shop.default().prices.invented == PRICES
    assert "until you set yours" in Shop.default().assumptions[0]
    some = load(tmp_path, "[prices]\nfilm_per_m = 2\npowder_per_kg = 30")
    assert some.prices.invented == ("colour_ink_per_kg", "white_ink_per_kg")
    assert "colour_ink_per_kg, white_ink_per_kg" in some.assumptions[0]
    assert load(tmp_path, "[prices]\nexample = true\nfilm_per_m = 2").prices.invented == PRICES


def test_limits_of_rules_are_read_as_they_are_written(tmp_path: Path) -> None:
    shop = load(
        tmp_path,
        """
[rules.thin-line]
stop = 0.3
ask = "0.02in"
note = "off"
[rules.residue]
ask = "4 mm²"
severity = "stop"
[rules.low-resolution.line-art]
stop = "off"
ask = "250ppi"
[rules.thin-gap.operator]
seen = "Gap."
""",
    )
    line, residue, resolution = shop.rules["thin-line"], shop.rules["residue"], shop.rules["low-resolution"]
    assert line.limits == {"stop": 0.3, "ask": pytest.approx(0.508), "note": None}
    assert line.units == {"ask": "mm"}
    assert (residue.limits, residue.units, residue.severity) == ({"ask": 4.0}, {"ask": "mm2"}, "stop")
    assert resolution.kinds == {"line-art": {"stop": None, "ask": 250.0}}
    assert resolution.units == {"line-art.ask": "ppi"}
    assert shop.rules["thin-gap"].operator == {"seen": "Gap."}


# text, line, key, words of the message, words of the next step
SLIPS = [
    ('nmae = "x"', 1, "nmae", "'nmae' is not a setting of this file", "Did you mean name?"),
    ('[film]\nwidht = "330mm"', 2, "film.widht", "not a setting of [film]", "Did you mean width?"),
    ("[flim]\nwidth = 1", 1, "flim", "'flim' is not a setting", "Did you mean film?"),
    ("[film]\nwidth = 330", 2, "film.width", "330 has no unit", '"330mm"'),
    ('[film]\nwidth = "33cm"\nprintable = "400mm"', 3, "film.printable", "more than the film's", "smaller"),
    ('[film]\nwidth = "20cm"', 2, "film.width", "more than the film's", "Write both"),
    ('[film]\nwidth = "33m"', 2, "film.width", "33000mm is more than it can be", "from 50mm to"),
    ('[film]\ncore = "420mm"', 2, "film.core", "unit this program does not know", "g, kg"),
    ("[film]\nfinest_ppi = nan", 2, "film.finest_ppi", "nan is no number", "plain number"),
    ('[white]\nchoke = "18mm"', 2, "white.choke", "more than it can be", "from 0mm to 2mm"),
    ("[laydown]\ncyan = 8.6", 2, "laydown.cyan", "8.6 stands where a group belongs", "[laydown.cyan]"),
    ("[laydown]\ncyan = { likely = 8.6 }", 2, "laydown.cyan.least", "this setting is missing", "least = …"),
    ("[powder]\nlikely = 9\nleast = 10\nmost = 12", 2, "powder.likely", "out of order", "least first"),
    ("[laydown]\ncyna = { likely = 1, least = 1, most = 1 }", 2, "laydown.cyna", "not a setting", "Did you mean cyan?"),
    ('currency = "€"', 1, "currency", "not the letters of a currency", '"EUR"'),
    ('language = "nl"', 1, "language", '"nl" is not known', 'Choose one of "en", "es", "pt", "de", "fr".'),
    ('language = "DE"', 1, "language", '"DE" is not known', "Did you mean de?"),
    ('units = "inch"', 1, "units", '"inch" is not known', 'Choose one of "mm", "in".'),
    ('default_mode = "fats"', 1, "default_mode", '"fats" is not known', "Did you mean fast?"),
    ("[modes]\nslow = 9", 1, "default_mode", "this setting is missing", "default_mode"),
    ("[modes]", 1, "modes", "no print mode", "normal = 6"),
    ("[modes]\nnormal = 0", 2, "modes.normal", "less than it can be", "from 0.05"),
    ('[modes]\nnormal = "6"', 2, "modes.normal", "not a number", "without quotes"),
    ('[garments]\nsand = "sandy"', 2, "garments.sand", "not a colour", "#2d2d30"),
    ('[garments]\nsand = "#12345"', 2, "garments.sand", "not a colour", "#2d2d30"),
    ('[letterhead]\nlogo = "none.png"', 2, "letterhead.logo", "there is no file", "as seen from this shop file"),
    ('rules_folder = "none"', 1, "rules_folder", "there is no folder", "as seen from this shop file"),
    ('[separation]\nprofile = "none.icc"', 2, "separation.profile", "there is no file", "as seen from this shop file"),
    ('[separation]\nintent = "relativ"', 2, "separation.intent", "not known", "Did you mean relative?"),
    ('[separation]\nblack_point = "yes"', 2, "separation.black_point", "neither true nor false", "true"),
    ("[rules]\nthin-line = false", 2, "rules.thin-line", "is no rule", "[rules.thin-line]"),
    ('[rules.thin-line]\nstop = "0,3mm"', 2, "rules.thin-line.stop", '"0,3mm" is not a limit', '"0.4mm"'),
    ('[rules.thin-line]\nstop = "0.3"', 2, "rules.thin-line.stop", "is not a limit", "a number with a unit"),
    ("[rules.thin-line]\nsotp = 1", 2, "rules.thin-line.sotp", "not a setting", "Did you mean stop?"),
    ("[rules.thin-line]\noff = 1", 2, "rules.thin-line.off", "neither true nor false", "true"),
    ("[rules.x.customer]\ntitel = 'x'", 2, "rules.x.customer.titel", "not a setting", "Did you mean title?"),
    ("[rules.x]\nstop = -1", 2, "rules.x.stop", "less than it can be", "from 0"),
    ("[prices]\nfilm_per_m = -1", 2, "prices.film_per_m", "less than it can be", "from 0"),
    ("[prices]\npowder_per_kg = 'x'", 2, "prices.powder_per_kg", "not a number", "without quotes"),
    ("[machine]\nmemory_gb = 0.1", 2, "machine.memory_gb", "less than it can be", "from 0.5"),
    ("[machine]\nseconds = '20 s'", 2, "machine.seconds", "not a number", "without quotes"),
    ("[waste]\nreprints_percent = 250", 2, "waste.reprints_percent", "more than it can be", "from 0 to 100"),
]


@pytest.mark.parametrize(("text", "line", "key", "what", "step"), SLIPS, ids=[case[2] for case in SLIPS])
def test_a_slip_is_answered(tmp_path: Path, text: str, line: int, key: str, what: str, step: str) -> None:
    with pytest.raises(SettingsError) as caught:
        load(tmp_path, text)
    error = caught.value
    assert error.file == str(tmp_path / "shop.toml")
    assert error.key == key
    assert what in error.what
    assert step in error.next_step
    if "missing" not in what or key != "default_mode":
        assert error.line == line


def test_what_a_file_means(tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    text = 'rules_folder = "mine"\n[rules.thin-line]\nstop = "0.3mm"\nask = "off"\n[rules.stray-specks]\noff = true'
    said = describe_shop(load(tmp_path, text))
    assert "Film 330 mm wide, 325 mm printable; 5 mm between copies." in said
    assert "One file may take 2 GB of memory and 20 s of computing, and 0.25 s more for each million pixels." in said
    assert "White at 100 %: 18.4 g per m² (from 11.5 to 34.5)." in said
    assert "The prices are the example's until you set yours in the shop file." in said
    assert "The rule thin-line is changed: stop at 0.3 mm, no limit for ask." in said
    assert "The rule stray-specks is switched off." in said
    assert f"Rules of your own come from {tmp_path / 'mine'}." in said
    assert all(sentence.endswith(".") for sentence in said)


KEYS = st.sampled_from(
    [
        "name",
        "currency",
        "default_mode",
        "film.width",
        "film.gap",
        "film.finest_ppi",
        "white.choke",
        "laydown.cyan.least",
        "powder.likely",
        "prices.film_per_m",
        "waste.reprints_percent",
        "modes.normal",
        "machine.seconds",
        "garments.x",
        "rules.a.stop",
        "rules.a.b.ask",
        "separation.intent",
        "heavy_ink.aperture",
        "letterhead.lines",
        "rules",
        "film",
        "unknown.key",
    ]
)
VALUES = st.sampled_from(
    ['""', '"5mm"', '"5"', "5", "-5", "1e300", "nan", "inf", "true", "[]", "[1]", '["x"]', "{}", "{a=1}", "1979-05-27",
     '"\\u001b"', '"off"', "0", '"0mm"', "99999999999999999999", '"normal"']
)  # fmt: skip


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=300, deadline=None)
@given(pairs=st.dictionaries(KEYS, VALUES, max_size=4))
def test_any_values_are_read_or_answered(tmp_path: Path, pairs: dict[str, str]) -> None:
    answer = loaded(tmp_path, "\n".join(f"{key} = {value}" for key, value in pairs.items()))
    if isinstance(answer, SettingsError):
        assert answer.next_step
        assert answer.line is not None or answer.key == "default_mode"
        assert str(answer).replace(str(tmp_path), "").isprintable()
    else:
        assert answer.pixel_limit > 0
        assert describe_shop(answer)


def loaded(folder: Path, text: str) -> Shop | SettingsError:
    try:
        return load(folder, text)
    except SettingsError as error:
        return error


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full, as Linux has")
def test_a_full_disk_leaves_no_half_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path, real = tmp_path / "shop.toml", Path.open

    def full(self: Path, mode: str = "r", **more: str) -> object:
        if mode != "x":
            return real(self, mode, **more)
        real(self, mode, **more).close()
        return real(Path("/dev/full"), "w", **more)

    monkeypatch.setattr(Path, "open", full)
    with pytest.raises(SettingsError, match="cannot be written"):
        write_shop(path)
    assert not path.exists()
