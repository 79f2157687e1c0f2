"""The exception tree. Each error says what happened and the next step, and names the file where there is one.

::

    PreflightError
    ├── UsageError            the tool was asked wrongly: exit status 2
    │   ├── UnitError         a quantity that cannot be read
    │   └── SettingsError     a slip in a shop, ticket or rule file: file, line, key
    └── IntakeError           a customer's file that cannot be read: the artwork is unchecked
        └── ChildDied         the process that read it did not live to tell
"""

from __future__ import annotations


class PreflightError(Exception):
    """Root of every error that people see.

    Parameters
    ----------
    what
        What is wrong, a clause without a full stop.
    next_step
        What to do now, a whole sentence.
    file
        The file it is about, as the person named it.
    """

    def __init__(self, what: str, next_step: str, *, file: str | None = None) -> None:
        self.what = what
        self.next_step = next_step
        self.file = file
        super().__init__(what, next_step)

    def __str__(self) -> str:
        where = f"{self.file}: " if self.file else ""
        return f"{where}{self.what}. {self.next_step}"


class UsageError(PreflightError):
    """The tool was asked for something it cannot do."""


class UnitError(UsageError):
    """A quantity without a unit, with an unknown one, or without a usable number."""


class SettingsError(UsageError):
    """A slip in a file that the shop writes: shop, ticket or rule.

    Parameters
    ----------
    key
        Dotted name of the setting, such as ``film.width``.
    line
        Line of the file, counted from 1, where it is known.
    """

    def __init__(
        self, what: str, next_step: str, *, file: str | None = None, key: str | None = None, line: int | None = None
    ) -> None:
        super().__init__(what, next_step, file=file)
        self.key = key
        self.line = line

    def __str__(self) -> str:
        where = self.file or ""
        if self.line is not None:
            where += f", line {self.line}"
        if self.key is not None:
            where += f", {self.key}"
        where = where.removeprefix(", ")
        return f"{where}: {self.what}. {self.next_step}" if where else f"{self.what}. {self.next_step}"


class IntakeError(PreflightError):
    """A customer's file that cannot be read, in whole or in part.

    Parameters
    ----------
    rule
        Id of the rule that this becomes a finding of: ``unreadable-file``, ``cut-short`` or ``locked-file``.
    pages
        How many pages the file has, as far as that was found out: the others may still be readable.
    """

    def __init__(
        self, what: str, next_step: str, *, file: str | None = None, rule: str = "unreadable-file", pages: int = 1
    ) -> None:
        super().__init__(what, next_step, file=file)
        self.rule = rule
        self.pages = pages


class ChildDied(IntakeError):  # noqa: N818 - it tells of an end, not of a slip
    """The process in which a customer's file was open ended, or was ended, before it gave an answer.

    Parameters
    ----------
    how
        "memory", "time", "crash", "killed" (from outside) or "nonsense" (what it sent is no answer).
    said
        What its libraries printed. It may hold anything: the file had a say in it.
    """

    def __init__(
        self, what: str, next_step: str, *, file: str | None = None, how: str = "crash", said: str = ""
    ) -> None:
        super().__init__(what, next_step, file=file)
        self.how, self.said = how, said
