"""The pages that people wrote: their examples run, their links lead somewhere, what they name is there."""

from __future__ import annotations

import importlib.util
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import NamedTuple

import pytest

from preflight import cli
from preflight.demo import make_order
from preflight.measure.catalogue import MEASURES
from preflight.model import ExitStatus
from preflight.rulebook import load_rulebook
from preflight.shop import Shop, load_shop
from preflight.units import show_number

ROOT = Path(__file__).resolve().parents[1]
#: Pages made by ``docs/make_rules.py`` are held to the rules elsewhere; only their links are followed here.
WRITTEN = [
    *(ROOT / name for name in ("README.md", "DEVELOPERS.md", "CHANGELOG.md", "fixtures/README.md")),
    *sorted((ROOT / "docs").glob("*.md")),
]
PAGES = [*WRITTEN, *sorted((ROOT / "docs" / "rules").glob("*.md"))]
#: What an example may be: marked on the line before, with the exit status that it shall end with unless that is 0.
_EXAMPLE = re.compile(
    r"<!-- runnable(?:: status (?P<status>\d+))? -->\n```(?P<language>\w+)\n(?P<code>.*?)\n```"
    r"(?:\n+<!-- prints -->\n```text\n(?P<prints>.*?)\n```)?",
    re.DOTALL,
)
_FENCE = re.compile(r"^```.*?^```$", re.DOTALL | re.MULTILINE)
_LINK = re.compile(r"\]\(([^()\s]+)\)")
_QUOTED = re.compile(r"`([^`\n]+)`")
_PATH = re.compile(r"(preflight|rules|docs|fixtures|tests|\.ci)/[\w./*-]*|pyproject\.toml|LICENSE|[A-Z]{3,}\.md")
_COMMAND = re.compile(r"^(?:\$ )?preflight( .*)?$")


class Example(NamedTuple):
    """A piece of a page that shall run."""

    language: str
    code: str
    status: int
    prints: str | None


def name_of(page: Path) -> str:
    return page.relative_to(ROOT).as_posix()


def examples() -> Iterator[tuple[str, Example]]:
    for page in WRITTEN:
        for number, found in enumerate(_EXAMPLE.finditer(page.read_text(encoding="utf-8")), 1):
            one = Example(found["language"], found["code"], int(found["status"] or 0), found["prints"])
            yield f"{name_of(page)}: {number}, {one.language}", one


EXAMPLES = dict(examples())
each_page = pytest.mark.parametrize("page", PAGES, ids=name_of)
each_written = pytest.mark.parametrize("page", WRITTEN, ids=name_of)


@pytest.fixture(scope="module")
def order(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What ``preflight demo`` leaves behind, made once."""
    folder = tmp_path_factory.mktemp("docs") / "preflight-demo"
    list(make_order(folder))
    return folder


@pytest.fixture
def desk(order: Path, tmp_path: Path) -> Path:
    """A folder to run an example in: the demo's order, the schema, and the command itself."""
    shutil.copytree(order, tmp_path / "preflight-demo")
    shutil.copy(ROOT / "docs" / "report.schema.json", tmp_path)
    command = tmp_path / "bin" / "preflight"
    command.parent.mkdir()
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m preflight "$@"\n', encoding="utf-8")
    command.chmod(0o755)
    return tmp_path


def run(one: Example, desk: Path) -> subprocess.CompletedProcess[str]:
    script = desk / ("example.py" if one.language == "python" else "example.sh")
    script.write_text(one.code + "\n", encoding="utf-8")
    with_ours = {"PATH": f"{desk / 'bin'}{os.pathsep}{os.environ['PATH']}", "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [sys.executable if one.language == "python" else "bash", script.name],
        cwd=desk,
        env={**os.environ, **with_ours, "PYTHONUTF8": "1"},
        capture_output=True,
        encoding="utf-8",
        check=False,
        timeout=300,
    )


def test_there_are_examples_of_both_kinds() -> None:
    for page in ("README.md", "docs/for-integrators.md"):
        languages = {one.language for name, one in EXAMPLES.items() if name.startswith(f"{page}:")}
        assert languages == {"bash", "python"}, page
    marked = sum(page.read_text(encoding="utf-8").count("<!-- runnable") for page in WRITTEN)
    assert len(EXAMPLES) == marked, "a mark must stand on the line before its example"


@pytest.mark.skipif(os.name == "nt", reason="the examples are for a POSIX shell")
@pytest.mark.parametrize("name", EXAMPLES)
def test_the_example_runs(name: str, desk: Path) -> None:
    one = EXAMPLES[name]
    done = run(one, desk)
    assert done.returncode == one.status, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    assert "not found" not in done.stderr
    if one.prints is not None:
        assert done.stdout.rstrip() == one.prints


@each_page
def test_links_lead_somewhere(page: Path) -> None:
    for target in _LINK.findall(_FENCE.sub("", page.read_text(encoding="utf-8"))):
        if re.match(r"[a-z]+:", target):
            continue
        path, _, anchor = target.partition("#")
        file = (page.parent / path).resolve() if path else page
        assert file.exists(), target
        assert ROOT in file.parents, target
        if anchor:
            assert anchor in anchors(file), target


def anchors(page: Path) -> set[str]:
    """What a heading is called in a link: small letters, spaces as hyphens, nothing else but letters and digits."""
    headings = re.findall(r"^#+ (.+)$", _FENCE.sub("", page.read_text(encoding="utf-8")), re.MULTILINE)
    return {re.sub(r"[^\w -]", "", heading.lower()).strip().replace(" ", "-") for heading in headings}


def test_every_page_stands_in_the_index() -> None:
    index = (ROOT / "docs" / "README.md").read_text(encoding="utf-8")
    pages = {page.name for page in (ROOT / "docs").glob("*.md")} - {"README.md"}
    assert pages <= set(_LINK.findall(index))


@each_written
def test_every_file_named_is_there(page: Path) -> None:
    for quoted in _QUOTED.findall(_FENCE.sub("", page.read_text(encoding="utf-8"))):
        for word in quoted.split():
            if _PATH.fullmatch(word) and not re.search(r"\b(NAME|ID)\b", word):
                assert list(ROOT.glob(word.rstrip("/"))), word


@each_written
def test_every_command_and_option_named_is_there(page: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = page.read_text(encoding="utf-8")
    inline = _QUOTED.findall(_FENCE.sub("", text))
    fenced = [line.strip() for fence in _FENCE.findall(text) for line in fence.splitlines()]
    for line in [*inline, *fenced]:
        if not _COMMAND.match(line):
            continue
        words = line.removeprefix("$ ").split()[1:]
        command = words[0] if words and not words[0].startswith("-") else None
        known = help_of(command, capsys)
        if "Commands:" in known and command is not None and len(words) > 1 and re.fullmatch("[a-z]+", words[1]):
            known = help_of(f"{command} {words[1]}", capsys)
        for option in re.findall(r"(?<![\w-])--[a-z][a-z-]*", line):
            assert option in known, line


def help_of(command: str | None, capsys: pytest.CaptureFixture[str]) -> str:
    """What the command says of itself; fails when there is no such command."""
    with pytest.raises(SystemExit) as ended:
        cli.main([*(command or "").split(), "--help"])
    said = capsys.readouterr()
    assert ended.value.code == ExitStatus.READY, f"{command}: {said.err}"
    return said.out


@each_written
def test_toml_examples_can_be_read(page: Path, tmp_path: Path) -> None:
    """Those of a shop file are loaded as one, with their rules."""
    for number, code in enumerate(re.findall(r"<!-- shop file -->\n```toml\n(.*?)```", page.read_text("utf-8"), re.S)):
        path = tmp_path / f"shop-{number}.toml"
        path.write_text(code, encoding="utf-8")
        load_rulebook(load_shop(path))


def test_the_commands_for_contributors_are_those_of_ci() -> None:
    ci = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    (line,) = [line for line in readme.splitlines() if '-e ".[test,dev]"' in line and line.startswith("python3")]
    for step in line.split(" && "):
        assert step in ci or "activate" in step


def test_every_measure_is_explained() -> None:
    page = (ROOT / "docs" / "how-it-works.md").read_text(encoding="utf-8")
    missing = [name for name in MEASURES if f"`{name}`" not in page]
    assert not missing


def test_every_default_of_the_shop_is_sourced() -> None:
    """The table of shop settings holds the defaults of this program, each on the line of its setting."""
    shop, page = Shop.default(), (ROOT / "docs" / "sources.md").read_text(encoding="utf-8")
    film, cyan, white = shop.film, shop.laydown["cyan"], shop.laydown["white"]
    figures = {
        "film.width": (film.width_mm,),
        "film.printable": (film.printable_mm,),
        "film.gap": (film.gap_mm,),
        "film.roll": (film.roll_m,),
        "film.g_per_m2": (film.g_per_m2,),
        "film.longest_print": (film.longest_print_mm / 1000,),
        "film.finest_ppi": (film.finest_ppi,),
        "white.choke": (shop.choke_mm,),
        "laydown": (*cyan, *white),
        "powder": (shop.powder.g_per_m2, shop.powder.low, shop.powder.high),
        "prices": (shop.prices.colour_ink_per_kg, shop.prices.white_ink_per_kg, shop.powder.price_per_kg),
        "waste.consumables_percent": (shop.waste.consumables * 100,),
        "waste.reprints_percent": (shop.waste.reprints * 100,),
        "modes": tuple(shop.modes.values()),
        "heavy_ink.aperture": (shop.heavy_ink.aperture_mm,),
        "heavy_ink.allowed_mm2": (shop.heavy_ink.allowed_mm2,),
    }
    for setting, values in figures.items():
        (row,) = [line for line in page.splitlines() if line.startswith(f"| `{setting}`")]
        missing = [show_number(value, 4) for value in values if not re.search(rf"\b{show_number(value, 4)}\b", row)]
        assert not missing, row


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    """docs/make_session.py, which is a script and no package."""
    spec = importlib.util.spec_from_file_location("make_session", ROOT / "docs" / "make_session.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_table_of_limits_is_current(maker: ModuleType) -> None:
    _, written, _ = maker.between((ROOT / "docs" / "sources.md").read_text(encoding="utf-8"), "limits")
    assert written.strip() == maker.limits(load_rulebook(Shop.default())), "run: python docs/make_session.py"


def test_what_the_program_says_is_made_for_every_place(maker: ModuleType, order: Path) -> None:
    """How a session reads may change any day, so it is not compared; that it can be made again is."""
    for (name, marker), make in maker.PARTS.items():
        _, written, _ = maker.between((ROOT / name).read_text(encoding="utf-8"), marker)
        new = make(order)
        assert written.splitlines()[0] == new.splitlines()[0]
        assert len(new.splitlines()) > 3
    shown = (ROOT / "README.md").read_text(encoding="utf-8")
    assert f"\n$ preflight {' '.join(maker.SESSION)}\n" in shown
