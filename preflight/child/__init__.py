"""The bounded child: every customer's file is opened, measured and drawn in a process of its own, under limits.

``Workshop`` runs the work, ``Limits`` says what one file may cost, ``protections`` what is in force on this system.
docs/security.md says what is promised and what is not.
"""

from __future__ import annotations

from preflight.child.fate import ChildFailed
from preflight.child.job import Job, Room
from preflight.child.limits import Limits
from preflight.child.underway import Child
from preflight.child.workshop import Workshop, examination, measuring, protections

__all__ = ["Child", "ChildFailed", "Job", "Limits", "Room", "Workshop", "examination", "measuring", "protections"]
