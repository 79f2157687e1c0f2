"""What the ink of one copy weighs."""

from __future__ import annotations

from collections.abc import Mapping

from preflight.model import CHANNELS, Channel, Coverage, InkUse
from preflight.shop import Laydown, Shop

MM2_PER_M2 = 1e6


def weigh(coverage: Coverage, shop: Shop, separation: str) -> InkUse:
    """The ink of one copy with its likely weights.

    Parameters
    ----------
    coverage
        Areas of one copy. A channel that is missing counts as empty.
    shop
        Gives the grams per square metre of each channel at 100 %.
    separation
        Name of the profile, or "the file's own inks".

    Returns
    -------
    InkUse
        Grams of a channel = area at 100 % × the shop's likely laydown.
    """
    channels = {}
    for channel in CHANNELS:
        area = coverage.solid_mm2.get(channel, 0.0)
        channels[channel] = Channel(area, area / MM2_PER_M2 * shop.laydown[channel].g_per_m2)
    return InkUse(
        separation=separation,
        channels=channels,
        total_percent_max=coverage.total_percent_max,
        total_percent_mean=coverage.total_percent_mean,
        inked_mm2=coverage.inked_mm2,
    )


def ink_range(use: InkUse, shop: Shop) -> Mapping[str, Laydown]:
    """Grams of each channel of one copy: likely, and the least and most by the shop's range."""
    return {name: _spread(channel.solid_mm2, shop.laydown[name]) for name, channel in use.channels.items()}


def powder_range(use: InkUse, shop: Shop) -> Laydown:
    """Grams of powder on one copy, which sticks where white is: likely, least and most."""
    powder = shop.powder
    return _spread(use.inked_mm2, Laydown(powder.g_per_m2, powder.low, powder.high))


def _spread(area_mm2: float, laydown: Laydown) -> Laydown:
    return Laydown(*(area_mm2 / MM2_PER_M2 * grams for grams in laydown))
