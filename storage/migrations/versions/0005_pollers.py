"""Which program asks for a bot's updates."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

_Instant = sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "pollers",
        sa.Column("bot", sa.Text(), nullable=False),
        sa.Column("holder", sa.Text(), nullable=False),
        sa.Column("lease_until", _Instant, nullable=False),
        sa.PrimaryKeyConstraint("bot", name="pk_pollers"),
    )


def downgrade() -> None:
    op.drop_table("pollers")
