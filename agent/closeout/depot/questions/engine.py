"""The library of portable expressions, which tells type checkers nothing: the one place it is met.

What comes back is turned into plain rows here, so that no untyped value goes any further.
"""

from __future__ import annotations

from typing import Any, Final, TypeAlias

import ibis as library  # pyright: ignore[reportMissingTypeStubs]

Expression: TypeAlias = Any
"""A table or a column that is not computed yet."""
Row: TypeAlias = dict[str, Any]

ibis: Final[Any] = library


def rows_of(question: Expression) -> list[Row]:
    """The answer, a row each, in no order."""
    rows: list[Row] = question.to_pyarrow().to_pylist()
    return rows


def only_row(question: Expression) -> Row:
    """The answer where it is one row."""
    (row,) = rows_of(question)
    return row
