"""Pages of artwork that was truly checked and drawn."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from preflight.engine import VIEWS, Checker, check
from preflight.model import Bytes
from preflight.report.html import Shown
from preflight.rulebook import Rulebook, load_rulebook
from preflight.shop import Shop
from preflight.ticket import Order

#: Writes pixels as a PNG, checks it for a print of that width on that garment, and draws its pictures.
Show = Callable[..., Shown]


@pytest.fixture(scope="session")
def rulebook() -> Rulebook:
    return load_rulebook(Shop.default())


@pytest.fixture
def show(tmp_path: Path, rulebook: Rulebook) -> Show:
    def shown(
        rgba: Bytes, width_mm: float | None, *garments: str, name: str = "art.png", size_of: str = "canvas"
    ) -> Shown:
        path = tmp_path / name
        Image.fromarray(np.ascontiguousarray(rgba)).save(path)
        order = Order(width_mm=width_mm, garments=garments, size_of=size_of)
        report = check(path, Checker(order, Shop.default(), rulebook, pictures=True))
        assert "traceback" not in report.extra, report.extra["traceback"]
        return Shown(replace(report, extra={}), report.extra.get(VIEWS))

    return shown


CHROMIUM = shutil.which("chromium")
#: Nothing of the browser's own may look for the network.
QUIET = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    if CHROMIUM is None:
        pytest.skip("there is no Chromium here; Debian's package is called chromium")
    playwright = pytest.importorskip("playwright.sync_api", reason="axe-playwright-python comes with the extra 'test'")
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield running
        running.close()
