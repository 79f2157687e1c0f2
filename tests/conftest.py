"""What tests of several commands share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from preflight import cli

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run the command in this process and an empty folder; status, standard output and standard error."""
    monkeypatch.chdir(tmp_path)

    def run_it(*arguments: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            cli.main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        assert isinstance(ended.value.code, int)
        assert "Traceback" not in err
        return ended.value.code, out, err

    return run_it
