"""Reports as ``preflight check --format json`` writes them, with figures that a test chooses."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from preflight.model import CHANNELS


def artwork(
    file: str = "crest.png",
    *,
    copies: int = 1,
    size: tuple[float, float] | None = (100.0, 100.0),
    areas_m2: Mapping[str, float] | None = None,
    verdict: str = "ready",
    separation: str = "film A",
    mode: str | None = None,
    g_per_m2: Mapping[str, float] | None = None,
) -> dict[str, Any]:
    """One artwork; areas are of one copy at 100 %."""
    grams = g_per_m2 or {channel: 18.4 if channel == "white" else 8.6 for channel in CHANNELS}
    areas = {channel: (areas_m2 or {}).get(channel, 0.0) for channel in CHANNELS}
    channels = {each: {"solid_mm2": area * 1e6, "grams": area * grams[each]} for each, area in areas.items()}
    ink = {
        "separation": separation,
        "channels": channels,
        "total_percent_max": 0.0,
        "total_percent_mean": 0.0,
        "grams": sum(each["grams"] for each in channels.values()),
    }
    return {
        "file": file,
        "sha256": None,
        "format": "PNG",
        "page": 1,
        "verdict": verdict,
        "ticket": {"width_mm": None, "height_mm": None, "copies": copies, "garments": [], "mode": mode},
        "print": {
            "width_mm": None if size is None else size[0],
            "height_mm": None if size is None else size[1],
            "ppi": None,
            "pixels": [1, 1],
            "artwork_box_px": [0, 0, 1, 1],
            "size_from": "unknown" if size is None else "ticket",
        },
        "measures": {},
        "findings": [],
        "ink": None if size is None else ink,
        "cost": None,
        "assumptions": [],
        "seconds": 0.0,
    }


def report(path: Path, *artworks: dict[str, Any]) -> Path:
    """Write them as one report."""
    whole = {"schema": 1, "tool": {"name": "preflight", "version": "0.1.0"}, "artworks": list(artworks)}
    path.write_text(json.dumps(whole), encoding="utf-8")
    return path
