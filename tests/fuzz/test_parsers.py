"""Whatever a file holds, our own parsers end with an answer or a refusal in plain words; a short run of each.

The long run is ``python -m tests.fuzz --minutes 30``.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st

from .mutate import KINDS, MOST, mutated
from .targets import Target, TooLongError, all_targets, give

TARGETS = {target.name: target for target in all_targets()}
_numbers = st.integers(0, MOST)
_steps = st.lists(st.tuples(st.integers(0, KINDS - 1), _numbers, _numbers), max_size=6)


@pytest.mark.parametrize("name", TARGETS)
def test_changed_files(name, tmp_path):
    target = TARGETS[name]

    @settings(max_examples=target.examples, deadline=None, derandomize=True, database=None,
              suppress_health_check=list(HealthCheck))  # fmt: skip
    @given(_numbers, _steps)
    def run(first, steps):
        give(target, mutated(target.seeds, target.words, first, steps), tmp_path)

    run()


@pytest.mark.parametrize("name", TARGETS)
def test_anything(name, tmp_path):
    target = TARGETS[name]

    @seed(1)
    @settings(max_examples=40, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(st.binary(max_size=200) | st.lists(st.sampled_from(target.words or (b"x",)), max_size=20).map(b"".join))
    def run(data):
        give(target, data, tmp_path)

    run()


@pytest.mark.parametrize("name", TARGETS)
def test_some_of_the_seeds_are_good(name, tmp_path):
    """Or else nothing but refusals would be tried."""
    assert any(give(TARGETS[name], data, tmp_path) for data in TARGETS[name].seeds)


def _raise(failure):
    def parse(data, folder):
        raise failure

    return parse


@pytest.mark.parametrize("failure", [KeyError("x"), RecursionError(), ValueError("x"), MemoryError()])
def test_what_is_no_refusal_is_a_failure(failure, tmp_path):
    with pytest.raises(type(failure)):
        give(Target("x", _raise(failure), (b"",)), b"", tmp_path)


def test_what_takes_too_long_is_a_failure(tmp_path):
    with pytest.raises(TooLongError):
        give(Target("x", lambda data, folder: sum(range(300_000)), (b"",), seconds=0.0), b"", tmp_path)


def test_a_file_is_told_by_its_numbers():
    assert mutated([b"width = 12"], [], 0, []) == b"width = 12"
    assert mutated([b"width = 12"], [], 0, [(10, 4, 3)]) == b"width = nan"
    assert mutated([b"abc", b"xyz"], [b"!"], 1, [(6, 1, 0)]) == b"x!yz"
    assert len(mutated([b"x" * 10_000], [b"word"], 0, [(8, 1, 299)] * 300)) <= 200_000


def test_folder_is_the_only_place_written(tmp_path: Path):
    for target in TARGETS.values():
        give(target, target.seeds[0], tmp_path)
    assert {path.suffix for path in tmp_path.iterdir()} <= {".toml", ".svg", ".psd", ".eps"}
