"""Photos that came with messages, by the platform's reference."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

_Id = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_Instant = sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "photos",
        sa.Column("id", _Id, nullable=False),
        sa.Column("household_id", _Id, nullable=False),
        sa.Column("chat_id", _Id, nullable=False),
        sa.Column("person_id", _Id),
        sa.Column("message", sa.Text(), nullable=False),
        sa.Column("album", sa.Text()),
        sa.Column("reference", sa.Text(), nullable=False),
        sa.Column("is_file", sa.Boolean(), nullable=False),
        sa.Column("kept_at", _Instant, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_photos"),
        sa.ForeignKeyConstraint(["household_id"], ["households.id"], name="fk_photos_household_id"),
        sa.ForeignKeyConstraint(["chat_id"], ["chats.id"], name="fk_photos_chat_id"),
        sa.ForeignKeyConstraint(["person_id"], ["persons.id"], name="fk_photos_person_id"),
        sa.UniqueConstraint("chat_id", "message", name="uq_photos_chat_id_message"),
    )
    op.create_index("ix_photos_household_id", "photos", ["household_id"])
    op.create_index("ix_photos_chat_id_album", "photos", ["chat_id", "album"])


def downgrade() -> None:
    op.drop_table("photos")
