"""How a ledger of an older version becomes one of this: one file a step, applied by alembic."""

from __future__ import annotations
