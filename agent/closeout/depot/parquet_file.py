"""Rows as Parquet: the columns of a table of the ledger, compressed, batch by batch."""

from __future__ import annotations

from collections.abc import Iterable
from importlib import import_module
from pathlib import Path
from typing import Any, Final

from sqlalchemy import BigInteger, Boolean, Integer, Table

from closeout.depot.facts import Row

COMPRESSION: Final = "zstd"


def write_parquet(path: Path, table: Table, batches: Iterable[list[Row]]) -> int:
    """The number of rows written; no column is ever null."""
    arrow: Any = import_module("pyarrow")  # it comes without types
    parquet: Any = import_module("pyarrow.parquet")
    kinds = {column.name: _kind_of(arrow, column.type) for column in table.columns}
    schema = arrow.schema([arrow.field(name, kinds[name], nullable=False) for name in kinds])
    count = 0
    with parquet.ParquetWriter(path, schema, compression=COMPRESSION) as writer:
        for rows in batches:
            count += len(rows)
            columns = [
                arrow.array([row[field.name] for row in rows], type=field.type) for field in schema
            ]
            writer.write_batch(arrow.record_batch(columns, schema=schema))
    return count


def _kind_of(arrow: Any, kind: object) -> object:  # noqa: ANN401 - of a library without types
    match kind:
        case BigInteger():
            return arrow.int64()
        case Integer():
            return arrow.int32()
        case Boolean():
            return arrow.bool_()
        case _:
            return arrow.string()
