"""What is asked of the ledger, each question written once, whatever engine answers it.

The expressions are the same over an export's Parquet files (DuckDB inside this program, or Spark)
and over the ledger itself (SQLite, PostgreSQL).
"""

from __future__ import annotations
