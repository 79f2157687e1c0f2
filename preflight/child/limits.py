"""What one file may cost this computer."""

from __future__ import annotations

import math

from preflight.records import dataclass
from preflight.shop import Shop

_GB = 2**30
#: The clock on the wall may run so many times longer than the processor works: other programs want it too.
_WALL = 3.0


@dataclass(frozen=True, slots=True)
class Limits:
    """Most that the child process of one file may use.

    Parameters
    ----------
    memory
        Bytes, on top of what the program itself takes up before it looks at the file.
    seconds, seconds_per_megapixel
        Time of the processor for one file, and more of it for each million pixels.
    megapixels
        Of the largest artwork that is opened at all.
    file_bytes
        Size of a file that the child may write in its scratch folder.
    open_files
        At the same time.
    slack
        Seconds on the clock that are allowed beyond three times those of the processor.
    """

    memory: int = 2 * _GB
    seconds: float = 20.0
    seconds_per_megapixel: float = 0.25
    megapixels: float = 1000.0
    file_bytes: int = _GB // 2
    open_files: int = 256
    slack: float = 10.0

    @classmethod
    def of(cls, shop: Shop) -> Limits:
        """The limits that a shop is set to."""
        machine = shop.machine
        return cls(
            memory=int(machine.memory_gb * _GB),
            seconds=machine.seconds,
            seconds_per_megapixel=machine.seconds_per_megapixel,
            megapixels=shop.pixel_limit / 1e6,
        )

    def cpu(self, megapixels: float = 0.0) -> int:
        """Whole seconds of the processor for an artwork of that size; 0 while the size is not known."""
        return math.ceil(self.seconds + self.seconds_per_megapixel * min(max(megapixels, 0.0), self.megapixels))

    def wall(self, megapixels: float = 0.0) -> float:
        """Seconds on the clock for the same."""
        return self.slack + _WALL * self.cpu(megapixels)
