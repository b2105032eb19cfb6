"""
What a check found, and which results an instrument took part in.

Schema 0002, after 0001. A check says by which gain and offset readings are wrong; `instrument_use` ties a
raw file's results to the instruments that they rest on, for one result may rest on several.
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    for name in ("gain", "offset", "gain_uncertainty", "offset_uncertainty"):
        op.add_column("instrument_check", sa.Column(name, sa.Double(), nullable=True))
    op.create_table(
        "instrument_use",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("campaign_id", sa.Text(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("time", sa.Text(), nullable=False),
        sa.Column("instrument_id", sa.Text(), nullable=False),
        sa.Column("file_id", sa.Text(), nullable=False),
        sa.Column("quantity", sa.Text(), nullable=False),
        sa.Column("power", sa.Double(), nullable=True),
        sa.Column("reading", sa.Double(), nullable=True),
        sa.Column("measured_at", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["campaign_id"], ["campaign.id"], name=op.f("fk_instrument_use_campaign_id_campaign")
        ),
        sa.ForeignKeyConstraint(
            ["instrument_id"], ["instrument.id"], name=op.f("fk_instrument_use_instrument_id_instrument")
        ),
        sa.ForeignKeyConstraint(["file_id"], ["file.id"], name=op.f("fk_instrument_use_file_id_file")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_instrument_use")),
    )
    op.create_index(op.f("ix_instrument_use_campaign_id"), "instrument_use", ["campaign_id"])
    if op.get_bind().dialect.name == "sqlite":
        for verb in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER keep_instrument_use_{verb.lower()} BEFORE {verb} ON instrument_use "
                "BEGIN SELECT RAISE(ABORT, 'rows of instrument_use are never changed or deleted'); END"
            )
