"""The rules are found in all three ways the program is installed: wheel, editable, bare checkout."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
WHERE = "from preflight.rulebook.files import rules_folder; print(rules_folder())"


def build(target: str, folder: Path) -> Path:
    """Build a wheel and lay it out as an installer would."""
    pytest.importorskip("hatchling", reason="hatchling comes with the extra 'dev'")
    if target == "editable":
        pytest.importorskip("editables", reason="editables comes with the extra 'dev'")
    out = folder / "built"
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", f"wheel:{target}", "-d", str(out)],
        cwd=ROOT, check=True, capture_output=True,
    )  # fmt: skip
    (wheel,) = out.glob("*.whl")
    site = folder / "site"
    zipfile.ZipFile(wheel).extractall(site)
    return site


def ask(code: str, folder: Path, *path: Path) -> str:
    """What a fresh Python prints, with ``path`` as places where packages are installed."""
    sites = "import site, sys; " + "".join(f"site.addsitedir({str(place)!r}); " for place in path)
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    # Without the current folder on the path, and with what is installed there coming first.
    early = "sys.path[:] = sys.path[-{n}:] + sys.path[:-{n}] if {n} else sys.path; ".format(n=len(path))
    done = subprocess.run(
        [sys.executable, "-c", sites + early + code], cwd=folder, env=environment, capture_output=True, text=True,
        check=True,
    )  # fmt: skip
    return done.stdout.strip()


@pytest.mark.slow
def test_the_wheel_holds_every_rule_and_no_package_named_rules(tmp_path: Path) -> None:
    site = build("standard", tmp_path)
    shipped = sorted(path.name for path in (site / "preflight" / "rules").iterdir())
    assert shipped == sorted(path.name for path in (ROOT / "rules").glob("*.toml"))
    assert len(shipped) > 20
    assert sorted(path.name for path in site.iterdir() if not path.name.endswith(".dist-info")) == ["preflight"]
    assert Path(ask(WHERE, tmp_path, site)) == site / "preflight" / "rules"


@pytest.mark.slow
def test_the_wheel_holds_what_is_no_module(tmp_path: Path) -> None:
    site = build("standard", tmp_path)
    ours = {path.relative_to(ROOT) for path in (ROOT / "preflight").rglob("*") if path.is_file()}
    ours = {path for path in ours if "__pycache__" not in path.parts}
    theirs = {path.relative_to(site) for path in (site / "preflight").rglob("*") if path.is_file()}
    assert ours <= theirs
    assert {path.parent for path in theirs - ours} == {Path("preflight/rules")}
    assert (next(site.glob("*.dist-info")) / "licenses" / "LICENSE").is_file()
    entry = (next(site.glob("*.dist-info")) / "entry_points.txt").read_text(encoding="utf-8")
    assert "preflight = preflight.cli:process" in entry


@pytest.mark.slow
def test_an_editable_install_reads_the_rules_of_the_checkout(tmp_path: Path) -> None:
    site = build("editable", tmp_path)
    assert not (site / "preflight" / "cli.py").exists()
    assert Path(ask(WHERE, tmp_path, site)) == ROOT / "rules"


def test_a_bare_checkout_reads_its_own_rules(tmp_path: Path) -> None:
    assert Path(ask(f"sys.path.insert(0, {str(ROOT)!r}); " + WHERE, tmp_path)) == ROOT / "rules"


def test_the_readme_and_ci_run_the_same_install(tmp_path: Path) -> None:
    ci = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for command in ('pip install -e ".[test,dev]"', "pytest"):
        assert command in ci
        assert command in readme


def test_the_readme_names_the_licence_of_every_library() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["overnight"]]
    table = (ROOT / "README.md").read_text(encoding="utf-8").partition("| library | for | licence |")[2]
    first = " ".join(line.split("|")[1] for line in table.split("\n\n")[0].splitlines() if line.startswith("|"))
    named = set(re.findall(r"[a-z][a-z0-9-]+", first))
    assert {re.split(r"[<>=]", each)[0] for each in wanted} <= named


@pytest.mark.slow
def test_the_wheel_stays_small_and_holds_the_fonts(tmp_path: Path) -> None:
    site = build("standard", tmp_path)
    assert {path.name for path in (site / "preflight" / "data").glob("report-*")} == {
        "report-bold.ttf", "report-regular.ttf", "report-fonts.txt"
    }  # fmt: skip
    (wheel,) = (tmp_path / "built").glob("*.whl")
    assert wheel.stat().st_size < 2 * 1024 * 1024
