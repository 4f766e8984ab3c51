"""Rows to columns at the least total cost: the assignment problem, solved exactly in integers.

The method is the Hungarian one (H. W. Kuhn, "The Hungarian method for the assignment problem",
Naval Research Logistics Quarterly 2, 1955; J. Munkres, SIAM Journal 5, 1957) as shortest
augmenting paths with potentials (N. Tomizawa, Networks 1, 1971; R. Jonker and A. Volgenant,
Computing 38, 1987), which does n rows and m columns in O(n² m).

A cell is tight where its cost is the sum of the potentials of its row and its column. All optimal
assignments use tight cells alone (complementary slackness), so among equals the first is found by
moving along them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypeAlias

Costs: TypeAlias = Sequence[Sequence[int]]

NOBODY = -1


def assign(costs: Costs) -> tuple[int, ...]:
    """For each row a column of its own, so that the costs add up to the least.

    Of several such assignments it is the first in the order of the columns: row 0 has the lowest
    column that it can have in any of them, then row 1, and so on. Raises ValueError where rows
    differ in length, or are more than the columns.
    """
    width = len(costs[0]) if costs else 0
    if len(costs) > width or any(len(row) != width for row in costs):
        raise ValueError("as many columns in each row are wanted, and no more rows than columns")
    search = _Search(costs, width)
    for row in range(len(costs)):
        search.add_row(row)
    for row in range(len(costs)):
        search.move_first(row)
    return tuple(search.column_of)


class _Search:
    """The assignment of the rows so far, with the potentials that prove it to be optimal.

    Always `row_price + column_price <= cost`, with equality where a row has its column; a column
    without a row has the price 0.
    """

    def __init__(self, costs: Costs, width: int) -> None:
        self._costs = costs
        self._width = width
        self._row_price = [0] * len(costs)
        self._column_price = [0] * width
        self._owner = [NOBODY] * width
        self.column_of = [NOBODY] * len(costs)

    def add_row(self, added: int) -> None:
        """Gives one more row a column: the cheapest path to a free one, its rows moved along."""
        best: dict[int, int] = {}
        before = [NOBODY] * self._width
        visited: list[int] = []
        self._row_price[added] = 0
        row, arrived, far = added, NOBODY, 0
        open_columns = set(range(self._width))
        while row != NOBODY:
            for column in open_columns:
                length = far + self._slack(row, column)
                if column not in best or length < best[column]:
                    best[column], before[column] = length, arrived
            far, arrived = min((best[column], column) for column in open_columns)
            open_columns.discard(arrived)
            visited.append(arrived)
            row = self._owner[arrived]
        self._raise_prices(added, visited, best, far)
        while arrived != NOBODY:
            earlier = before[arrived]
            mover = added if earlier == NOBODY else self._owner[earlier]
            self._owner[arrived], self.column_of[mover] = mover, arrived
            arrived = earlier

    def move_first(self, row: int) -> None:
        """Moves a row to the lowest column that leaves the total and the rows before it alone."""
        old = self.column_of[row]
        onward = self._ways_round(row)
        mover, column = row, min(each for each in onward if self._slack(row, each) == 0)
        while True:
            displaced = self._owner[column]
            self._owner[column] = mover
            if mover != NOBODY:
                self.column_of[mover] = column
            if column == old:
                return
            mover, column = displaced, onward[column]

    def _ways_round(self, row: int) -> dict[int, int]:
        """The columns that `row` could take, and where what has each would go in turn.

        Each way ends at the column that `row` has now. That a column is free may move like a row,
        to any column of the price 0.
        """
        old = self.column_of[row]
        onward = {old: NOBODY}
        movable = set(range(row + 1, len(self._costs)))
        free = [column for column in range(self._width) if self._owner[column] == NOBODY]
        reached = [old]
        while reached:
            target = reached.pop()
            movers = {mover for mover in movable if self._slack(mover, target) == 0}
            movable -= movers
            found = sorted(self.column_of[mover] for mover in movers)
            if self._column_price[target] == 0:
                found += free
                free = []
            onward.update(dict.fromkeys(found, target))
            reached += found
        return onward

    def _slack(self, row: int, column: int) -> int:
        return self._costs[row][column] - self._row_price[row] - self._column_price[column]

    def _raise_prices(
        self, added: int, visited: list[int], best: Mapping[int, int], far: int
    ) -> None:
        self._row_price[added] += far
        for column in visited:
            gain = far - best[column]
            self._column_price[column] -= gain
            if self._owner[column] != NOBODY:
                self._row_price[self._owner[column]] += gain
