"""The least total, and of several the first: against all permutations, and against scipy."""

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.judge.assignment import assign

Table = list[list[int]]


@st.composite
def tables(draw: st.DrawFn, most_rows: int, most_columns: int, highest: int) -> Table:
    """Costs, with few different ones often, so that there are ties."""
    rows = draw(st.integers(0, most_rows))
    columns = draw(st.integers(rows, most_columns)) if rows else 0
    limit = draw(st.sampled_from([1, 3, highest]))
    cost = st.integers(-limit, limit)
    row = st.lists(cost, min_size=columns, max_size=columns)
    return draw(st.lists(row, min_size=rows, max_size=rows))


def total(costs: Table, columns: tuple[int, ...]) -> int:
    return sum(costs[row][column] for row, column in enumerate(columns))


@given(tables(6, 6, 10**40))
def test_no_other_assignment_costs_less_or_comes_first(costs: Table) -> None:
    width = len(costs[0]) if costs else 0
    ways = permutations(range(width), len(costs))
    assert assign(costs) == min(ways, key=lambda way: (total(costs, way), way))


@pytest.mark.wheel_oracle
@given(tables(25, 40, 1000))
def test_a_library_finds_no_less(costs: Table) -> None:
    optimize = pytest.importorskip("scipy.optimize")
    found = assign(costs)
    assert len(set(found)) == len(costs)
    if costs:
        rows, columns = optimize.linear_sum_assignment(costs)
        assert rows.tolist() == list(range(len(costs)))
        assert total(costs, found) == total(costs, tuple(columns.tolist()))


@given(tables(6, 8, 50), st.randoms(use_true_random=False))
def test_the_order_of_the_rows_changes_no_total(costs: Table, chance: object) -> None:
    mixed = list(costs)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    assert total(mixed, assign(mixed)) == total(costs, assign(costs))


def test_worked_value() -> None:
    """A row gives way although it had the cheapest cell of its own."""
    assert assign([[1, 2, 9], [1, 9, 9]]) == (1, 0)


@pytest.mark.parametrize("costs", [[[1], [2]], [[1, 2], [3]], [[]]])
def test_what_is_no_table_is_refused(costs: Table) -> None:
    with pytest.raises(ValueError, match="as many columns"):
        assign(costs)
