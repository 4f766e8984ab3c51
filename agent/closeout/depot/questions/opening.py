"""The tables of a ledger or of its export, opened for questions."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from pathlib import Path
from typing import Any, Final

from sqlalchemy import BigInteger, Boolean, Integer, Table
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from closeout.depot.questions.engine import Expression, ibis
from closeout.depot.tables import INDEX_TABLES, JUDGED
from closeout.model.frozen import frozen, replace

MEMORY: Final = "1200MB"
"""What DuckDB may hold before it puts away to disk; beside it stand the program and its answers."""
PARQUET: Final = "*/*.parquet"
MONTH: Final = "month"
SERVER: Final = "postgresql"
LOCAL: Final = "local"
"""One machine: hundreds of shares of the work, as for many, would take longer than the work."""
NO_LEDGER: Final = "is neither an export's folder nor a ledger's file"


class OpeningError(Exception):
    """Why the place cannot be asked, in one line."""


@frozen
class Index:
    """The five tables that questions are asked of.

    With a wide hash the engine has a number of 64 bits for a text, to gather by. `begun` are the
    numbers of orders that began before what is asked of; none where everything is.
    """

    report: Expression
    finding: Expression
    step: Expression
    part: Expression
    identity: Expression
    connection: Expression
    has_wide_hash: bool = False
    begun: Expression | None = None

    def since(self, month: str) -> Index:
        """The reports from this month on and what belongs to them.

        Of other months no more is read than the numbers of their orders.
        """
        report = self.report.filter(self.report.month >= month)
        before = self.report.filter((self.report.month < month) & (self.report.kind == JUDGED))
        return Index(
            report=report,
            finding=_of_reports(self.finding, report, month),
            step=_of_reports(self.step, report, month),
            part=_of_reports(self.part, report, month),
            identity=_of_reports(self.identity, report, month),
            connection=self.connection,
            has_wide_hash=self.has_wide_hash,
            begun=before.select("work_order").distinct(),
        )

    def close(self) -> None:
        """Lets go of file, server or Spark; nothing can be asked any more."""
        self.connection.disconnect()


def open_index(place: str, spark: str = "") -> Index:
    """The ledger at a path or an address; with `spark` that master reads an export.

    Raises:
        OpeningError: there is none, or it is no ledger.
    """
    try:
        return _open(place, spark)
    except (OpeningError, ImportError):
        raise
    except Exception as error:
        first = (str(error).splitlines() or [type(error).__name__])[0]
        raise OpeningError(f"{_without_password(place)}: cannot be opened: {first}") from error


def _open(place: str, spark: str) -> Index:
    folder = Path(place)
    if place.startswith(SERVER):
        return _of_database(_connect_server(_read_address(place)), place)
    if folder.is_dir():
        return _open_export(folder, spark)
    if spark:
        raise OpeningError(f"{place}: Spark reads an export's folder, and this is none")
    if not folder.is_file():
        raise OpeningError(f"{place}: {NO_LEDGER}; `closeout depot export` makes an export")
    return _of_database(ibis.sqlite.connect(str(folder)), place)


def _read_address(place: str) -> URL:
    """The address of a server; what may be a password is not shown where it cannot be read."""
    try:
        return make_url(place)
    except (ArgumentError, ValueError):
        raise OpeningError("the address of the server cannot be read") from None


def _without_password(place: str) -> str:
    return str(_read_address(place)) if place.startswith(SERVER) else place


def _connect_server(url: URL) -> Expression:
    """A PostgreSQL server; a folder of its socket stands under `host` behind the question mark."""
    known: dict[str, Any] = dict(url.query)
    if url.host:
        known["host"] = url.host
    user = url.username or known.get("user")
    known |= {"user": user, "password": url.password, "database": url.database}
    known |= {"port": int(url.port or known.get("port", 5432))}
    return ibis.postgres.connect(**{name: value for name, value in known.items() if value})


def _of_database(connection: Expression, place: str) -> Index:
    def find(table: Table) -> Expression:
        return connection.table(table.name)

    return _index(find, _without_password(place), connection)


def _open_export(folder: Path, spark: str) -> Index:
    if not any((folder / "report").glob(PARQUET)):
        raise OpeningError(
            f"{folder}: no export: there is no report/{MONTH}=.../ with Parquet in it"
        )
    connection, read = _spark(spark, folder) if spark else _duckdb(folder)

    def find(table: Table) -> Expression:
        if any((folder / table.name).glob(PARQUET)):
            return read(table.name)
        return ibis.memtable([], schema=_schema(table))

    return replace(_index(find, str(folder), connection), has_wide_hash=not spark)


def _duckdb(folder: Path) -> tuple[Expression, Callable[[str], Expression]]:
    connection = ibis.duckdb.connect(memory_limit=MEMORY)

    def read(name: str) -> Expression:
        files = str(folder / name / PARQUET)
        return connection.read_parquet(files, hive_partitioning=True, hive_types_autocast=False)

    return connection, read


def _spark(master: str, folder: Path) -> tuple[Expression, Callable[[str], Expression]]:
    building: Any = import_module("pyspark.sql").SparkSession.builder  # an extra of its own
    if master.startswith(LOCAL):
        building = building.config("spark.sql.shuffle.partitions", "4")
    session = (
        building.master(master)
        .appName("closeout")
        .config("spark.ui.enabled", "false")
        .config("spark.sql.session.timeZone", "UTC")
        .config("spark.ui.showConsoleProgress", "false")
        .config("spark.sql.sources.partitionColumnTypeInference.enabled", "false")
        .getOrCreate()
    )
    session.sparkContext.setLogLevel("ERROR")
    connection = ibis.pyspark.connect(session)

    def read(name: str) -> Expression:
        return connection.read_parquet(str(folder / name))

    return connection, read


def _index(find: Callable[[Table], Expression], place: str, connection: Expression) -> Index:
    found = {table.name: _checked(find(table), table, place) for table in INDEX_TABLES}
    return Index(connection=connection, **found)


def _checked(expression: Expression, table: Table, place: str) -> Expression:
    """The table with the columns that a ledger has. Raises OpeningError where one is missing."""
    for column in table.columns:
        if column.name not in expression.columns:
            raise OpeningError(f"{place}: no ledger: {table.name} has no column {column.name}")
    return expression


def _schema(table: Table) -> Mapping[str, str]:
    def kind(of: object) -> str:
        if isinstance(of, Boolean):
            return "boolean"
        return "int64" if isinstance(of, (BigInteger, Integer)) else "string"

    return {column.name: kind(column.type) for column in table.columns}


def _of_reports(child: Expression, report: Expression, month: str) -> Expression:
    if MONTH in child.columns:
        return child.filter(child[MONTH] >= month)
    # No semi join: SQLite and PostgreSQL are given no more than one of them in a question.
    return child.filter(child.report_id.isin(report.id))
