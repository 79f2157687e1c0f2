"""A watcher in a test's own process: real folders, real files, and little patience."""

from __future__ import annotations

import io
import json
import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw

from preflight.child import Limits, Workshop
from preflight.engine import Checker
from preflight.overnight import finished, watcher, work
from preflight.overnight.ledger import Ledger
from preflight.overnight.lock import Lock
from preflight.overnight.settings import Settings
from preflight.overnight.watcher import Watcher
from preflight.rulebook import load_rulebook
from preflight.shop import Shop
from preflight.ticket import Order


def picture(mark: int = 0, side: int = 220) -> bytes:
    """A sound artwork, another one for each mark: it is ready at its own size."""
    image = Image.new("RGBA", (side, side), (0, 0, 0, 0))
    ImageDraw.Draw(image).rectangle((20, 20, side - 21, side - 21), fill=(130, 90 + mark % 40, 90 + mark // 40, 255))
    stream = io.BytesIO()
    image.save(stream, "PNG", dpi=(300, 300))
    return stream.getvalue()


def workshop() -> Workshop:
    return Workshop(Limits.of(Shop.default()))


@dataclass
class Desk:
    """Two folders, and a watcher for them."""

    root: Path
    out: Path
    options: dict[str, Any] = field(default_factory=dict)

    def put(self, name: str, data: bytes | None = None, ticket: str | None = None) -> Path:
        path = self.root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(picture() if data is None else data)
        if ticket is not None:
            path.with_name(f"{path.name}.ticket.toml").write_text(ticket, encoding="utf-8")
        return path

    def settings(self, **options: Any) -> Settings:
        told = {"formats": ("json", "text"), "every": 0.1, "settle": 0.0, "order": Order(), **self.options, **options}
        shop = Shop.default()
        checker = Checker(told.pop("order"), shop, load_rulebook(shop, None))
        checker.pictures = not {"html", "pdf"}.isdisjoint(told["formats"])
        return Settings(root=self.root, out=self.out, checker=checker, **told)

    def once(self, **options: Any) -> Watcher:
        """One run over what is there."""
        settings = self.settings(**options)
        for name in ("", work.NAME):
            (self.out / name).mkdir(exist_ok=True)
        with Lock(self.out) as lock:
            one = Watcher(settings, workshop, lock)
            one.run(once=True)
        return one

    def rows(self) -> list[Any]:
        ledger = Ledger(self.out / "preflight.sqlite")
        try:
            return ledger.since(0.0)
        finally:
            ledger.close()

    def files(self) -> set[str]:
        """What lies in the folder of answers, without what is the watcher's own."""
        own = {
            "preflight.lock",
            "preflight.sqlite",
            "heartbeat.json",
            "log.jsonl",
            "morning.html",
            "morning.json",
            "morning.pdf",
        }
        found = {path.relative_to(self.out).as_posix() for path in self.out.rglob("*") if not path.is_dir()}
        return found - own

    def incoming(self) -> set[str]:
        return {path.relative_to(self.root).as_posix() for path in self.root.rglob("*") if not path.is_dir()}

    def report(self, path: str) -> dict[str, Any]:
        (artwork,) = json.loads((self.out / path).read_text(encoding="utf-8"))["artworks"]
        return {**artwork, "seconds": 0}

    def log(self) -> list[dict[str, Any]]:
        lines = (self.out / "log.jsonl").read_text(encoding="utf-8").splitlines()
        return [json.loads(line) for line in lines]


@pytest.fixture
def hurried(monkeypatch: pytest.MonkeyPatch) -> None:
    """Files are still after a tenth of a second."""
    monkeypatch.setattr(finished, "STILL", 0.1)
    monkeypatch.setattr(watcher, "STILL", 0.1)


@pytest.fixture
def desk(tmp_path: Path, hurried: None) -> Desk:
    (tmp_path / "in").mkdir()
    return Desk(tmp_path / "in", tmp_path / "out")


posix = pytest.mark.skipif(os.name == "nt", reason="what is tested is a matter of POSIX systems")
