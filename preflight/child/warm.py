"""Importing this loads whatever measuring a picture may need."""

from __future__ import annotations

import numpy.ma  # noqa: F401 - np.unique loads it
import PIL.BmpImagePlugin
import PIL.ImageCms  # noqa: F401

import preflight.child.examining
import preflight.measure.codereader  # noqa: F401
