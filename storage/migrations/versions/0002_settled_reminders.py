"""When somebody said of a reminder that it is done or left out: the list of what is due then drops it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_Instant = sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")


def upgrade() -> None:
    op.add_column("reminders", sa.Column("settled_at", _Instant))


def downgrade() -> None:
    with op.batch_alter_table("reminders") as table:
        table.drop_column("settled_at")
