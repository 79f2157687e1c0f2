"""Workshops by every way of starting children that this system has."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from preflight.child import Limits, Workshop

LINUX = sys.platform == "linux"
METHODS = ["fork", "forkserver"] if LINUX else ["spawn"]


@pytest.fixture(params=METHODS)
def workshop(request: pytest.FixtureRequest) -> Iterator[Workshop]:
    """A workshop whose limits are soon reached. Afterwards nothing of it is left."""
    limits = Limits(memory=600_000_000, seconds=1, seconds_per_megapixel=0.03, file_bytes=1_000_000, slack=1.0)
    with Workshop(limits, method=request.param) as made:
        folder = made._folder
        assert folder is not None
        yield made
        assert made._busy == []
        assert list(folder.iterdir()) == []
    assert not folder.exists()
    assert dead_children() == []


def dead_children() -> list[int]:
    """Processes that this one has started and that nobody has waited for since they ended."""
    listed: list[int] = []
    for task in Path("/proc/self/task").iterdir():
        with contextlib.suppress(OSError):  # a thread that has just ended
            listed += [int(pid) for pid in (task / "children").read_text().split()]
    return [pid for pid in listed if Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"]


@pytest.fixture
def art(tmp_path: Path) -> Path:
    """A small artwork that is all right."""
    picture = np.zeros((120, 160, 4), np.uint8)
    picture[20:100, 30:130] = (200, 30, 60, 255)
    path = tmp_path / "art.png"
    Image.fromarray(picture).save(path, dpi=(300, 300))
    return path
