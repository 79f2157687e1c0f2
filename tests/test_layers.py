"""The rooms of the house: a lower one never imports a higher one, and rules need no imaging library."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
IMAGING = ("cv2", "pyvips", "PIL", "zxingcpp")


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [sys.executable, *arguments], capture_output=True, text=True, cwd=ROOT, env=environment, check=False
    )


def test_no_room_imports_a_higher_one() -> None:
    pytest.importorskip("importlinter", reason="import-linter comes with the extra 'dev'")
    done = run("-c", "from importlinter.cli import lint_imports_command as lint; lint(['--no-cache'])")
    assert done.returncode == 0, done.stdout + done.stderr
    assert " 0 broken." in done.stdout


@pytest.mark.parametrize("room", ["model", "shop", "ticket", "rulebook", "measure.catalogue", "report.json"])
def test_what_needs_no_picture_brings_no_imaging_library(room: str) -> None:
    code = f"import sys, preflight.{room}; print([name for name in {IMAGING} if name in sys.modules])"
    assert run("-c", code).stdout == "[]\n"


def test_every_module_has_a_place_in_the_layers() -> None:
    import tomllib

    config = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    contracts = config["tool"]["importlinter"]["contracts"]
    layers = next(contract["layers"] for contract in contracts if contract["type"] == "layers")
    placed = {name.strip() for layer in layers for name in layer.split("|")}
    modules = {
        f"preflight.{path.stem}"
        for path in (ROOT / "preflight").iterdir()
        if (path.suffix == ".py" and path.stem != "__init__") or (path / "__init__.py").exists()
    }
    assert modules == placed
