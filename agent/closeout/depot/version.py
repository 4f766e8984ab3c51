"""The version of a ledger's tables: made where there are none, and brought up to this one."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import Connection, inspect, text

from closeout.depot.failure import LedgerError

STEPS: Final = Path(__file__).with_name("migrations")
VERSION_TABLE: Final = "alembic_version"
NEWER: Final = "made by a newer version of closeout; use that one here too"
FOREIGN: Final = "a database of something else, no ledger"


def read_version(connection: Connection) -> str:
    """The version of the tables that are there; empty where there are none at all.

    Raises LedgerError for a database of something else.
    """
    names = inspect(connection).get_table_names()
    if VERSION_TABLE not in names:
        if names:
            raise LedgerError(FOREIGN)
        return ""
    found = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()  # noqa: S608 - our own word
    return str(found or "")


def newest_version(steps: Path = STEPS) -> str:
    """The version that this program makes."""
    return str(_scripts(steps).get_current_head())


def is_older(version: str, steps: Path = STEPS) -> bool:
    """Whether it is one that this program can bring up; raises LedgerError for a newer one."""
    scripts = _scripts(steps)
    if version == scripts.get_current_head():
        return False
    try:
        scripts.get_revision(version)
    except CommandError:
        raise LedgerError(NEWER) from None
    return True


def bring_up(connection: Connection, steps: Path = STEPS) -> None:
    """The tables of the newest version, all steps in the transaction that is open."""
    config = _config(steps)
    config.attributes["connection"] = connection
    command.upgrade(config, "head")


def _scripts(steps: Path) -> ScriptDirectory:
    return ScriptDirectory.from_config(_config(steps))


def _config(steps: Path) -> Config:
    config = Config()
    config.set_main_option("script_location", str(steps).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config
