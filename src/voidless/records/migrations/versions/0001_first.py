"""
The whole schema, as a campaign folder first had it.

Schema 0001, after nothing. Frozen: a later change is a later step. Two things the models do not show:
every table but `campaign` refuses to change or lose a row (triggers, SQLite), so a later step that
rebuilds a table must make its triggers again.
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def _table(name: str, *columns: sa.schema.SchemaItem) -> None:
    """Make a table with the columns that all but `campaign` share."""
    op.create_table(
        name,
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("campaign_id", sa.Text(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("time", sa.Text(), nullable=False),
        *columns,
        sa.ForeignKeyConstraint(
            ["campaign_id"], ["campaign.id"], name=op.f(f"fk_{name}_campaign_id_campaign")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{name}")),
    )
    op.create_index(op.f(f"ix_{name}_campaign_id"), name, ["campaign_id"])
    if op.get_bind().dialect.name == "sqlite":
        for verb in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER keep_{name}_{verb.lower()} BEFORE {verb} ON {name} "
                f"BEGIN SELECT RAISE(ABORT, 'rows of {name} are never changed or deleted'); END"
            )


def upgrade() -> None:
    op.create_table(
        "campaign",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("time", sa.Text(), nullable=False),
        sa.Column("written", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_campaign")),
    )
    _table(
        "bed_layout",
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
    )
    _table(
        "campaign_version",
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
    )
    _table(
        "derived_record",
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("payload", sa.Text(), nullable=False),
        sa.Column("inputs", sa.Text(), nullable=False),
        sa.Column("code_version", sa.Text(), nullable=False),
    )
    op.create_index(op.f("ix_derived_record_kind"), "derived_record", ["kind"])
    _table(
        "event",
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("payload", sa.Text(), nullable=False),
    )
    op.create_index(op.f("ix_event_kind"), "event", ["kind"])
    _table(
        "file",
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.UniqueConstraint("campaign_id", "sha256", "name", name=op.f("uq_file_campaign_id_sha256_name")),
    )
    _table(
        "instrument",
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("resolution", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
    )
    _table(
        "lot",
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("material", sa.Text(), nullable=False),
    )
    _table(
        "run",
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=True),
        sa.Column("settings", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("origin", sa.Text(), nullable=False),
        sa.UniqueConstraint("campaign_id", "label", name=op.f("uq_run_campaign_id_label")),
    )
    _table(
        "session",
        sa.Column("ordinal", sa.Integer(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("operator", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
    )
    _table(
        "build",
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=True),
        sa.Column("ordinal", sa.Integer(), nullable=False),
        sa.Column("planned", sa.Boolean(), nullable=False),
        sa.Column("session_id", sa.Text(), nullable=False),
        sa.Column("bed_layout_id", sa.Text(), nullable=True),
        sa.CheckConstraint("ordinal >= 1", name=op.f("ck_build_ordinal")),
        sa.ForeignKeyConstraint(
            ["bed_layout_id"], ["bed_layout.id"], name=op.f("fk_build_bed_layout_id_bed_layout")
        ),
        sa.ForeignKeyConstraint(["session_id"], ["session.id"], name=op.f("fk_build_session_id_session")),
        sa.UniqueConstraint("campaign_id", "label", name=op.f("uq_build_campaign_id_label")),
    )
    _table(
        "instrument_check",
        sa.Column("instrument_id", sa.Text(), nullable=False),
        sa.Column("checked_at", sa.Text(), nullable=False),
        sa.Column("passed", sa.Boolean(), nullable=False),
        sa.Column("deviation", sa.Double(), nullable=True),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["instrument_id"], ["instrument.id"], name=op.f("fk_instrument_check_instrument_id_instrument")
        ),
    )
    op.create_index(op.f("ix_instrument_check_instrument_id"), "instrument_check", ["instrument_id"])
    _table(
        "spool",
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("material", sa.Text(), nullable=False),
        sa.Column("lot_id", sa.Text(), nullable=True),
        sa.Column("colour", sa.Text(), nullable=False),
        sa.Column("diameter_mm", sa.Double(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_spool_lot_id_lot")),
    )
    _table(
        "build_fact",
        sa.Column("build_id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("file_id", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_build_fact_build_id_build")),
        sa.ForeignKeyConstraint(["file_id"], ["file.id"], name=op.f("fk_build_fact_file_id_file")),
    )
    op.create_index(op.f("ix_build_fact_build_id"), "build_fact", ["build_id"])
    _table(
        "build_run",
        sa.Column("build_id", sa.Text(), nullable=False),
        sa.Column("run_id", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_build_run_build_id_build")),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_build_run_run_id_run")),
        sa.UniqueConstraint("build_id", "run_id", name=op.f("uq_build_run_build_id_run_id")),
    )
    op.create_index(op.f("ix_build_run_run_id"), "build_run", ["run_id"])
    _table(
        "exposure",
        sa.Column("spool_id", sa.Text(), nullable=False),
        sa.Column("start", sa.Text(), nullable=False),
        sa.Column("end", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("temperature_c", sa.Double(), nullable=True),
        sa.Column("humidity_pct", sa.Double(), nullable=True),
        sa.Column("supersedes", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["spool_id"], ["spool.id"], name=op.f("fk_exposure_spool_id_spool")),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["exposure.id"], name=op.f("fk_exposure_supersedes_exposure")
        ),
        sa.UniqueConstraint("supersedes", name=op.f("uq_exposure_supersedes")),
    )
    op.create_index(op.f("ix_exposure_spool_id"), "exposure", ["spool_id"])
    _table(
        "realised",
        sa.Column("build_id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("sd", sa.Double(), nullable=True),
        sa.Column("source", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_realised_build_id_build")),
    )
    op.create_index(op.f("ix_realised_build_id"), "realised", ["build_id"])
    _table(
        "specimen",
        sa.Column("run_id", sa.Text(), nullable=True),
        sa.Column("build_id", sa.Text(), nullable=True),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("orientation", sa.Text(), nullable=False),
        sa.Column("thickness_mm", sa.Double(), nullable=True),
        sa.Column("width_mm", sa.Double(), nullable=True),
        sa.Column("section_mm2", sa.Double(), nullable=True),
        sa.Column("break_place", sa.Text(), nullable=True),
        sa.Column("break_mode", sa.Text(), nullable=True),
        sa.Column("conditioning", sa.Text(), nullable=False),
        sa.Column("age_h", sa.Double(), nullable=True),
        sa.Column("test_speed_mm_min", sa.Double(), nullable=True),
        sa.Column("operator", sa.Text(), nullable=False),
        sa.Column("bed_side", sa.Text(), nullable=False),
        sa.Column("first_layer", sa.Text(), nullable=False),
        sa.Column("top", sa.Text(), nullable=False),
        sa.Column("polish", sa.Text(), nullable=False),
        sa.Column("coating", sa.Text(), nullable=False),
        sa.Column("annealing", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_specimen_build_id_build")),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_specimen_run_id_run")),
    )
    op.create_index(op.f("ix_specimen_build_id"), "specimen", ["build_id"])
    _table(
        "observation",
        sa.Column("run_id", sa.Text(), nullable=True),
        sa.Column("build_id", sa.Text(), nullable=True),
        sa.Column("specimen_id", sa.Text(), nullable=True),
        sa.Column("quantity", sa.Text(), nullable=False),
        sa.Column("method", sa.Text(), nullable=False),
        sa.Column("feature", sa.Text(), nullable=False),
        sa.Column("conditions", sa.Text(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("uncertainty", sa.Double(), nullable=True),
        sa.Column("bound", sa.Text(), nullable=False),
        sa.Column("assumed", sa.Boolean(), nullable=False),
        sa.Column("break_place", sa.Text(), nullable=True),
        sa.Column("break_mode", sa.Text(), nullable=True),
        sa.Column("ordinal", sa.Integer(), nullable=True),
        sa.Column("session", sa.Text(), nullable=False),
        sa.Column("extra", sa.Text(), nullable=False),
        sa.Column("instrument_id", sa.Text(), nullable=True),
        sa.Column("measured_at", sa.Text(), nullable=True),
        sa.Column("method_version", sa.Text(), nullable=False),
        sa.Column("code_version", sa.Text(), nullable=False),
        sa.Column("file_id", sa.Text(), nullable=True),
        sa.Column("supersedes", sa.Text(), nullable=True),
        sa.CheckConstraint("bound IN ('exact', 'lower', 'upper')", name=op.f("ck_observation_bound")),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_observation_build_id_build")),
        sa.ForeignKeyConstraint(["file_id"], ["file.id"], name=op.f("fk_observation_file_id_file")),
        sa.ForeignKeyConstraint(
            ["instrument_id"], ["instrument.id"], name=op.f("fk_observation_instrument_id_instrument")
        ),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_observation_run_id_run")),
        sa.ForeignKeyConstraint(
            ["specimen_id"], ["specimen.id"], name=op.f("fk_observation_specimen_id_specimen")
        ),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["observation.id"], name=op.f("fk_observation_supersedes_observation")
        ),
        sa.UniqueConstraint("supersedes", name=op.f("uq_observation_supersedes")),
    )
    op.create_index(op.f("ix_observation_build_id"), "observation", ["build_id"])
    op.create_index(op.f("ix_observation_file_id"), "observation", ["file_id"])
    op.create_index(op.f("ix_observation_instrument_id"), "observation", ["instrument_id"])
    op.create_index(op.f("ix_observation_quantity"), "observation", ["quantity"])
    op.create_index(op.f("ix_observation_run_id"), "observation", ["run_id"])
    _table(
        "retraction",
        sa.Column("observation_id", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["observation_id"], ["observation.id"], name=op.f("fk_retraction_observation_id_observation")
        ),
        sa.UniqueConstraint("observation_id", name=op.f("uq_retraction_observation_id")),
    )


def downgrade() -> None:
    raise NotImplementedError("there is no schema before the first")
