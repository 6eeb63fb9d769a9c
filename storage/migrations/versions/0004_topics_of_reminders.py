"""The topic in which a reminder is told."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("reminders", sa.Column("thread", sa.Text()))


def downgrade() -> None:
    with op.batch_alter_table("reminders") as table:
        table.drop_column("thread")
