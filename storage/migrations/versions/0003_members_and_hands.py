"""Roles of members, invites, the tank that a chat is about, and whose hands are in the water."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_Id = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_Instant = sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")


def upgrade() -> None:
    # Whoever belonged to a household so far could do everything in it.
    with op.batch_alter_table("members") as table:
        table.add_column(sa.Column("role", sa.Text(), nullable=False, server_default="keeper"))
    with op.batch_alter_table("members") as table:
        table.alter_column("role", server_default=None)
    op.add_column("chats", sa.Column("tank", sa.Text()))
    op.create_table(
        "invites",
        sa.Column("id", _Id, nullable=False),
        sa.Column("household_id", _Id, nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("made_by", _Id, nullable=False),
        sa.Column("made_at", _Instant, nullable=False),
        sa.Column("expires_at", _Instant, nullable=False),
        sa.Column("closed_at", _Instant),
        sa.Column("used_by", _Id),
        sa.PrimaryKeyConstraint("id", name="pk_invites"),
        sa.ForeignKeyConstraint(["household_id"], ["households.id"], name="fk_invites_household_id"),
        sa.ForeignKeyConstraint(["made_by"], ["persons.id"], name="fk_invites_made_by"),
        sa.ForeignKeyConstraint(["used_by"], ["persons.id"], name="fk_invites_used_by"),
        sa.UniqueConstraint("digest", name="uq_invites_digest"),
    )
    op.create_index("ix_invites_household_id", "invites", ["household_id"])
    op.create_table(
        "hands",
        sa.Column("id", _Id, nullable=False),
        sa.Column("household_id", _Id, nullable=False),
        sa.Column("person_id", _Id, nullable=False),
        sa.Column("tank", sa.Text()),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("taken_at", _Instant, nullable=False),
        sa.Column("until", _Instant, nullable=False),
        sa.Column("ended_at", _Instant),
        sa.PrimaryKeyConstraint("id", name="pk_hands"),
        sa.ForeignKeyConstraint(["household_id"], ["households.id"], name="fk_hands_household_id"),
        sa.ForeignKeyConstraint(["person_id"], ["persons.id"], name="fk_hands_person_id"),
    )
    op.create_index("ix_hands_household_id", "hands", ["household_id"])


def downgrade() -> None:
    op.drop_table("hands")
    op.drop_table("invites")
    with op.batch_alter_table("chats") as table:
        table.drop_column("tank")
    with op.batch_alter_table("members") as table:
        table.drop_column("role")
