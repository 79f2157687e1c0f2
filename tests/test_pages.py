"""Page numbers as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.errors import UsageError
from preflight.pages import Pages


@pytest.mark.parametrize(
    ("text", "count", "wanted"),
    [
        ("1", 3, [1]),
        ("2-3", 3, [2, 3]),
        ("1-3,5", 9, [1, 2, 3, 5]),
        ("5, 1 - 2", 9, [1, 2, 5]),
        ("3,3,2-4", 9, [2, 3, 4]),
        ("2-9", 3, [2, 3]),
        ("7", 3, []),
        ("1-100000", 2, [1, 2]),
    ],
)
def test_pages_of_a_document(text: str, count: int, wanted: list[int]) -> None:
    assert Pages.read(text).among(count) == wanted


@pytest.mark.parametrize(
    "text", ["", "0", "-1", "3-1", "a", "1-", "1,,2", "1.5", "²", "1-2-3", "9999999", "100001", "١"]
)
def test_slips_are_told(text: str) -> None:
    with pytest.raises(UsageError) as caught:
        Pages.read(text)
    assert "--pages" in str(caught.value)
    assert "1-3,5" in caught.value.next_step


def test_the_first_and_what_lies_beyond() -> None:
    pages = Pages.read("5,2-3")
    assert pages.first == 2
    assert pages.beyond(4)
    assert not pages.beyond(5)


@given(st.lists(st.tuples(st.integers(1, 60), st.integers(0, 9)), min_size=1, max_size=6), st.integers(1, 80))
def test_each_page_once_and_in_order(parts: list[tuple[int, int]], count: int) -> None:
    text = ",".join(f"{first}-{first + more}" for first, more in parts)
    found = Pages.read(text).among(count)
    asked = {page for first, more in parts for page in range(first, first + more + 1)}
    assert found == sorted(asked & set(range(1, count + 1)))
