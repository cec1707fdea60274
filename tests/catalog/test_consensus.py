"""The rule, on figures made up for the purpose; expectations reckoned by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropdata.catalog.consensus import Printed, agreement_of, join, median


def p(
    low: float | None, high: float | None, lineage: str = "a", basis: str = "published", source: str | None = None
) -> Printed:
    return Printed(low, high, basis, source or lineage, lineage)


def test_low_is_the_median_of_lows_and_high_of_highs() -> None:
    joined = join([p(1, 4, "a"), p(2, 5, "b"), p(3, 9, "c")])
    assert joined and (joined.low, joined.high, joined.lineages, joined.agreement) == (2, 5, 3, "agree")
    assert (joined.envelope_low, joined.envelope_high) == (1, 9)


def test_reprints_of_one_table_count_once() -> None:
    joined = join([p(3, 3, "a", source="a1"), p(3, 3, "a", source="a2"), p(3, 3, "a", source="a3"), p(5, 5, "b")])
    assert joined and joined.lineages == 2 and joined.agreement == "disagree"


def test_where_sources_disagree_the_envelope_is_answered() -> None:
    """Lettuce seed life of 6, 5, 3 and 2 years must not shrink to a point (traps 19)."""
    joined = join([p(6, 6, "a"), p(5, 5, "b"), p(3, 3, "c"), p(2, 2, "d")])
    assert joined and (joined.low, joined.high, joined.agreement) == (2, 6, "disagree")


def test_a_recalled_value_never_moves_a_published_one() -> None:
    joined = join([p(10, 12), p(1, 2, "memory", "from_memory"), p(3, 4, "rule", "common_practice")])
    assert joined and (joined.low, joined.high, joined.basis, joined.sources) == (10, 12, "published", ("a",))


def test_common_practice_outranks_memory() -> None:
    joined = join([p(1, 2, "memory", "from_memory"), p(3, 4, "rule", "common_practice")])
    assert joined and (joined.low, joined.basis) == (3, "common_practice")


def test_open_prints_keep_finite_ends_and_say_so() -> None:
    joined = join([p(None, 1)])
    assert joined and (joined.low, joined.high, joined.open_low, joined.open_high) == (1, 1, True, False)


def test_nothing_printed_gives_nothing() -> None:
    assert join([]) is None
    assert join([p(None, None)]) is None


@pytest.mark.parametrize(
    ("ranges", "expected"),
    [
        ([(1, 2)], "single source"),
        ([(1, 3), (2, 4), (3, 5)], "agree"),
        ([(1, 2), (2, 4), (3, 5)], "partly"),
        ([(1, 2), (3, 4)], "disagree"),
        ([(1, 9), (2, 3), (4, 5)], "partly"),
        ([(1, 2), (2, 3), (9, 9)], "disagree"),
    ],
)
def test_agreement_classes(ranges: list[tuple[float, float]], expected: str) -> None:
    assert agreement_of(ranges) == expected


@given(st.lists(st.tuples(st.floats(-50, 50), st.floats(0, 30), st.sampled_from("abcd")), min_size=1, max_size=8))
def test_the_answer_lies_within_the_envelope_and_in_order(rows: list[tuple[float, float, str]]) -> None:
    joined = join(
        [p(low, low + width, lineage, source=f"{lineage}{number}") for number, (low, width, lineage) in enumerate(rows)]
    )
    assert joined is not None
    assert joined.envelope_low <= joined.low <= joined.high <= joined.envelope_high
    assert joined.lineages == len({lineage for *_, lineage in rows})


@given(st.lists(st.integers(-100, 100), min_size=1))
def test_median_agrees_with_the_standard_library(values: list[int]) -> None:
    import statistics

    assert median(values) == statistics.median(values)
