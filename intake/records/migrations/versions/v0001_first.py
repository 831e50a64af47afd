"""The first tables, their views, and the guards of the log of changes."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make all tables, views and triggers."""
    _tables()
    for statement in (*VIEWS, *GUARDS):
        op.execute(sa.text(statement.replace(":", "\\:")))


def _tables() -> None:
    op.create_table(
        "batch",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("action", sa.String(), nullable=False),
        sa.Column("why", sa.String(), nullable=False),
        sa.Column("undoes", sa.Integer(), nullable=True),
        sa.Column("undone_by", sa.Integer(), nullable=True),
        sa.CheckConstraint("kind IN ('process', 'edit', 'undo', 'redo')", name="ck_batch_kind"),
        sa.CheckConstraint("length(who) > 0", name="ck_batch_who"),
        sa.ForeignKeyConstraint(
            ["undoes"],
            ["batch.id"],
        ),
        sa.ForeignKeyConstraint(
            ["undone_by"],
            ["batch.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sqlite_autoincrement=True,
    )
    op.create_index(
        "ix_batch_live", "batch", ["who", "id"], unique=False, sqlite_where=sa.text("undone_by IS NULL")
    )
    op.create_table(
        "file",
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("path", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.CheckConstraint("length(sha256) > 0", name="ck_file_sha256"),
        sa.PrimaryKeyConstraint("sha256"),
    )
    op.create_table(
        "unit",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("made_at", sa.String(), nullable=False),
        sa.Column("made_for", sa.String(), nullable=False),
        sa.Column("became", sa.String(), nullable=True),
        sa.CheckConstraint("id GLOB 'U[0-9][0-9][0-9][0-9]*'", name="ck_unit_id"),
        sa.ForeignKeyConstraint(
            ["became"],
            ["unit.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_table(
        "walk",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("utc_offset_min", sa.Integer(), nullable=True),
        sa.Column("settings", sa.JSON(none_as_null=True), server_default="{}", nullable=False),
        sa.Column("fingerprint", sa.String(), nullable=False),
        sa.Column("processed_at", sa.String(), nullable=False),
        sa.CheckConstraint("length(id) > 0", name="ck_walk_id"),
        sa.CheckConstraint("utc_offset_min BETWEEN -1440 AND 1440", name="ck_walk_offset"),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_table(
        "action_run",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("unit_id", sa.String(), nullable=False),
        sa.Column("work", sa.String(), nullable=False),
        sa.Column("part", sa.String(), nullable=True),
        sa.Column("due", sa.String(), nullable=True),
        sa.Column("waiting_on", sa.String(), nullable=True),
        sa.Column("since", sa.Date(), nullable=False),
        sa.Column("until", sa.Date(), nullable=True),
        sa.Column("sighting", sa.String(), nullable=False),
        sa.Column("entry_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["unit_id"],
            ["unit.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_action_run_due"), "action_run", ["due"], unique=False)
    op.create_index(op.f("ix_action_run_unit_id"), "action_run", ["unit_id"], unique=False)
    op.create_table(
        "camera_clock",
        sa.Column("walk_id", sa.String(), nullable=False),
        sa.Column("camera", sa.String(), nullable=False),
        sa.Column("offset_s", sa.Float(), nullable=False),
        sa.Column("low", sa.Float(), nullable=False),
        sa.Column("high", sa.Float(), nullable=False),
        sa.Column("drift_s_per_h", sa.Float(), nullable=False),
        sa.Column("known", sa.Boolean(), nullable=False),
        sa.Column("how", sa.String(), nullable=False),
        sa.Column("decided_offset_s", sa.Float(), nullable=True),
        sa.Column("decided_by", sa.String(), nullable=True),
        sa.Column("decided_at", sa.String(), nullable=True),
        sa.CheckConstraint("(decided_offset_s IS NULL) = (decided_by IS NULL)", name="ck_clock_decided"),
        sa.CheckConstraint("low <= high", name="ck_clock_interval"),
        sa.ForeignKeyConstraint(
            ["walk_id"],
            ["walk.id"],
        ),
        sa.PrimaryKeyConstraint("walk_id", "camera"),
    )
    op.create_table(
        "change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("table_name", sa.String(), nullable=False),
        sa.Column("row_id", sa.String(), nullable=False),
        sa.Column("unit_id", sa.String(), nullable=True),
        sa.Column("about", sa.String(), nullable=False),
        sa.Column("field", sa.String(), nullable=False),
        sa.Column("was", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("now", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("old", sa.JSON(none_as_null=True), server_default="{}", nullable=False),
        sa.Column("new", sa.JSON(none_as_null=True), server_default="{}", nullable=False),
        sa.ForeignKeyConstraint(
            ["batch_id"],
            ["batch.id"],
        ),
        sa.ForeignKeyConstraint(
            ["unit_id"],
            ["unit.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_change_batch_id"), "change", ["batch_id"], unique=False)
    op.create_index(op.f("ix_change_unit_id"), "change", ["unit_id"], unique=False)
    op.create_table(
        "issue_run",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("unit_id", sa.String(), nullable=False),
        sa.Column("part", sa.String(), nullable=True),
        sa.Column("symptom", sa.String(), nullable=True),
        sa.Column("side", sa.String(), nullable=True),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("since", sa.Date(), nullable=False),
        sa.Column("until", sa.Date(), nullable=True),
        sa.Column("sighting", sa.String(), nullable=False),
        sa.Column("entry_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["unit_id"],
            ["unit.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_issue_run_unit_id"), "issue_run", ["unit_id"], unique=False)
    op.create_table(
        "photo",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("walk_id", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("taken_at", sa.String(), nullable=True),
        sa.Column("taken_offset_min", sa.Integer(), nullable=True),
        sa.Column("taken_source", sa.String(), nullable=False),
        sa.Column("times", sa.JSON(none_as_null=True), server_default="[]", nullable=False),
        sa.Column("camera", sa.String(), nullable=True),
        sa.Column("orientation", sa.Integer(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.CheckConstraint("orientation BETWEEN 1 AND 8", name="ck_photo_orientation"),
        sa.ForeignKeyConstraint(
            ["sha256"],
            ["file.sha256"],
        ),
        sa.ForeignKeyConstraint(
            ["walk_id"],
            ["walk.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("walk_id", "name", name="uq_photo_name"),
        sa.UniqueConstraint("walk_id", "sha256", name="uq_photo_content"),
    )
    op.create_index(op.f("ix_photo_walk_id"), "photo", ["walk_id"], unique=False)
    op.create_table(
        "problem",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("walk_id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("fatal", sa.Boolean(), nullable=False),
        sa.Column("current", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["walk_id"],
            ["walk.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_problem_walk_id"), "problem", ["walk_id"], unique=False)
    op.create_table(
        "recording",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("walk_id", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("duration_s", sa.Float(), nullable=True),
        sa.Column("starts", sa.String(), nullable=True),
        sa.Column("started_at", sa.String(), nullable=True),
        sa.Column("started_source", sa.String(), nullable=False),
        sa.Column("started_marks", sa.String(), nullable=False),
        sa.Column("times", sa.JSON(none_as_null=True), server_default="[]", nullable=False),
        sa.Column("transcript", sa.String(), nullable=True),
        sa.CheckConstraint("started_marks IN ('start', 'end', 'start or end')", name="ck_recording_marks"),
        sa.CheckConstraint("duration_s >= 0", name="ck_recording_duration"),
        sa.ForeignKeyConstraint(
            ["sha256"],
            ["file.sha256"],
        ),
        sa.ForeignKeyConstraint(
            ["walk_id"],
            ["walk.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("walk_id", "name", name="uq_recording_name"),
        sa.UniqueConstraint("walk_id", "sha256", name="uq_recording_content"),
    )
    op.create_index(op.f("ix_recording_walk_id"), "recording", ["walk_id"], unique=False)
    op.create_table(
        "sighting",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("walk_id", sa.String(), nullable=False),
        sa.Column("local_id", sa.String(), nullable=False),
        sa.Column("position", sa.Float(), nullable=False),
        sa.Column("unit_id", sa.String(), nullable=False),
        sa.Column("origin", sa.String(), nullable=False),
        sa.Column("present", sa.Boolean(), nullable=False),
        sa.Column("spans", sa.JSON(none_as_null=True), server_default="[]", nullable=False),
        sa.Column("named_at", sa.JSON(none_as_null=True), server_default="[]", nullable=False),
        sa.Column("same_as_hint", sa.String(), nullable=True),
        sa.Column("linked", sa.String(), nullable=False),
        sa.Column("link_confidence", sa.Float(), nullable=False),
        sa.Column("decision", sa.String(), nullable=True),
        sa.Column("merged_into", sa.Integer(), nullable=True),
        sa.Column("split_from", sa.Integer(), nullable=True),
        sa.Column("split_recording", sa.String(), nullable=True),
        sa.Column("split_at_s", sa.Float(), nullable=True),
        sa.Column("decided_by", sa.String(), nullable=True),
        sa.Column("decided_at", sa.String(), nullable=True),
        sa.Column(
            "state",
            sa.Text(),
            sa.Computed(
                "CASE WHEN decision IN ('dropped', 'merged') THEN decision WHEN decision = 'kept' OR "
                "present THEN 'seen' ELSE 'gone' END",
                persisted=False,
            ),
            nullable=True,
        ),
        sa.CheckConstraint("(decision IS 'merged') = (merged_into IS NOT NULL)", name="ck_sighting_merged"),
        sa.CheckConstraint(
            "decision IN ('kept', 'dropped', 'merged') OR decision IS NULL", name="ck_sighting_decision"
        ),
        sa.CheckConstraint("linked IN ('own', 'machine', 'person')", name="ck_sighting_linked"),
        sa.CheckConstraint("local_id GLOB 'u[1-9]*'", name="ck_sighting_local_id"),
        sa.CheckConstraint("(decision IS NULL) = (decided_by IS NULL)", name="ck_sighting_decided"),
        sa.CheckConstraint("link_confidence BETWEEN 0 AND 1", name="ck_sighting_link_confidence"),
        sa.ForeignKeyConstraint(
            ["merged_into"],
            ["sighting.id"],
        ),
        sa.ForeignKeyConstraint(
            ["split_from"],
            ["sighting.id"],
        ),
        sa.ForeignKeyConstraint(
            ["unit_id"],
            ["unit.id"],
        ),
        sa.ForeignKeyConstraint(
            ["walk_id"],
            ["walk.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("walk_id", "local_id", name="uq_sighting_local_id"),
    )
    op.create_index(op.f("ix_sighting_merged_into"), "sighting", ["merged_into"], unique=False)
    op.create_index(op.f("ix_sighting_split_from"), "sighting", ["split_from"], unique=False)
    op.create_index(op.f("ix_sighting_unit_id"), "sighting", ["unit_id"], unique=False)
    op.create_index(
        "uq_sighting_unit",
        "sighting",
        ["walk_id", "unit_id"],
        unique=True,
        sqlite_where=sa.text("state = 'seen'"),
    )
    op.create_table(
        "stage_run",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("unit_id", sa.String(), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("since", sa.Date(), nullable=False),
        sa.Column("until", sa.Date(), nullable=True),
        sa.Column("sighting", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["unit_id"],
            ["unit.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_stage_run_since"), "stage_run", ["since"], unique=False)
    op.create_index("ix_stage_run_stage", "stage_run", ["stage", "until"], unique=False)
    op.create_index(op.f("ix_stage_run_unit_id"), "stage_run", ["unit_id"], unique=False)
    op.create_table(
        "transcript",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("walk_id", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("fingerprint", sa.String(), nullable=False),
        sa.Column("words", sa.Integer(), nullable=False),
        sa.Column("options", sa.JSON(none_as_null=True), server_default="{}", nullable=False),
        sa.ForeignKeyConstraint(
            ["sha256"],
            ["file.sha256"],
        ),
        sa.ForeignKeyConstraint(
            ["walk_id"],
            ["walk.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("walk_id", "sha256", name="uq_transcript"),
    )
    op.create_index(op.f("ix_transcript_walk_id"), "transcript", ["walk_id"], unique=False)
    op.create_table(
        "unit_now",
        sa.Column("unit_id", sa.String(), nullable=False),
        sa.Column("unit_type", sa.String(), nullable=True),
        sa.Column("maker", sa.String(), nullable=True),
        sa.Column("model", sa.String(), nullable=True),
        sa.Column("serial", sa.String(), nullable=True),
        sa.Column("quantity", sa.Integer(), nullable=True),
        sa.Column("grouping", sa.String(), nullable=True),
        sa.Column("location", sa.String(), nullable=True),
        sa.Column("stage", sa.String(), nullable=True),
        sa.Column("source", sa.String(), nullable=True),
        sa.Column("cosmetic", sa.String(), nullable=True),
        sa.Column("stage_since", sa.Date(), nullable=True),
        sa.Column("first_seen", sa.Date(), nullable=False),
        sa.Column("last_seen", sa.Date(), nullable=False),
        sa.Column("first_sighting", sa.String(), nullable=False),
        sa.Column("last_sighting", sa.String(), nullable=False),
        sa.Column("sightings", sa.Integer(), nullable=False),
        sa.Column("photos", sa.Integer(), nullable=False),
        sa.Column("questions", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["unit_id"],
            ["unit.id"],
        ),
        sa.PrimaryKeyConstraint("unit_id"),
    )
    op.create_index(op.f("ix_unit_now_first_seen"), "unit_now", ["first_seen"], unique=False)
    op.create_index(op.f("ix_unit_now_last_seen"), "unit_now", ["last_seen"], unique=False)
    op.create_index(op.f("ix_unit_now_location"), "unit_now", ["location"], unique=False)
    op.create_index(op.f("ix_unit_now_serial"), "unit_now", ["serial"], unique=False)
    op.create_index(op.f("ix_unit_now_stage"), "unit_now", ["stage"], unique=False)
    op.create_table(
        "unit_words",
        sa.Column("unit_id", sa.String(), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("indexed", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["unit_id"],
            ["unit.id"],
        ),
        sa.PrimaryKeyConstraint("unit_id"),
    )
    op.create_index(
        "ix_unit_words_not_indexed",
        "unit_words",
        ["unit_id"],
        unique=False,
        sqlite_where=sa.text("indexed = 0"),
    )
    op.create_table(
        "entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("sighting_id", sa.Integer(), nullable=False),
        sa.Column("field", sa.String(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("value", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("confidence", sa.Float(), nullable=False),
        sa.Column("reasons", sa.JSON(none_as_null=True), server_default="[]", nullable=False),
        sa.Column("alternatives", sa.JSON(none_as_null=True), server_default="[]", nullable=False),
        sa.Column("evidence", sa.JSON(none_as_null=True), server_default="[]", nullable=False),
        sa.Column("rule", sa.String(), nullable=False),
        sa.Column("signals", sa.JSON(none_as_null=True), server_default="{}", nullable=False),
        sa.Column("notes", sa.JSON(none_as_null=True), server_default="[]", nullable=False),
        sa.Column("decision", sa.String(), nullable=True),
        sa.Column("decided_value", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("seen_value", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("differs", sa.Boolean(), nullable=False),
        sa.Column("decided_by", sa.String(), nullable=True),
        sa.Column("decided_at", sa.String(), nullable=True),
        sa.Column(
            "held",
            sa.JSON(none_as_null=True),
            sa.Computed("CASE WHEN decision IS NULL THEN value ELSE decided_value END", persisted=False),
            nullable=True,
        ),
        sa.Column(
            "question",
            sa.Boolean(),
            sa.Computed(
                "CASE WHEN decision IS NULL THEN reasons <> '[]' OR notes <> '[]' ELSE differs END",
                persisted=False,
            ),
            nullable=True,
        ),
        sa.CheckConstraint(
            "(number = 0) = (field IN ('unit_type', 'maker', 'model', 'serial', 'quantity', "
            "'grouping', 'location', 'stage', 'source', 'cosmetic')) AND number >= 0",
            name="ck_entry_number",
        ),
        sa.CheckConstraint(
            "decision IN ('accepted', 'corrected') OR decision IS NULL", name="ck_entry_decision"
        ),
        sa.CheckConstraint(
            "field IN ('unit_type', 'maker', 'model', 'serial', 'quantity', 'grouping', "
            "'location', 'stage', 'source', 'cosmetic', 'issues', 'service', 'actions', "
            "'accessories', 'measurements', 'unit', 'photos')",
            name="ck_entry_field",
        ),
        sa.CheckConstraint(
            "(decision IS NULL) = (decided_by IS NULL) AND (decision IS NULL) = (decided_at IS NULL)",
            name="ck_entry_decided",
        ),
        sa.CheckConstraint("confidence BETWEEN 0 AND 1", name="ck_entry_confidence"),
        sa.CheckConstraint("decision IS NOT NULL OR decided_value IS NULL", name="ck_entry_decided_value"),
        sa.CheckConstraint("value IS NULL OR json_valid(value)", name="ck_entry_value"),
        sa.ForeignKeyConstraint(
            ["sighting_id"],
            ["sighting.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("sighting_id", "field", "number", name="uq_entry"),
    )
    op.create_index(
        "ix_entry_question", "entry", ["sighting_id"], unique=False, sqlite_where=sa.text("question = 1")
    )
    op.create_table(
        "link",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("sighting_id", sa.Integer(), nullable=False),
        sa.Column("unit_id", sa.String(), nullable=False),
        sa.Column("confidence", sa.Float(), nullable=False),
        sa.Column("reasons", sa.JSON(none_as_null=True), server_default="[]", nullable=False),
        sa.Column("current", sa.Boolean(), nullable=False),
        sa.Column("decision", sa.String(), nullable=True),
        sa.Column("decided_by", sa.String(), nullable=True),
        sa.Column("decided_at", sa.String(), nullable=True),
        sa.CheckConstraint("decision IN ('same', 'other') OR decision IS NULL", name="ck_link_decision"),
        sa.CheckConstraint("(decision IS NULL) = (decided_by IS NULL)", name="ck_link_decided"),
        sa.CheckConstraint("confidence BETWEEN 0 AND 1", name="ck_link_confidence"),
        sa.ForeignKeyConstraint(
            ["sighting_id"],
            ["sighting.id"],
        ),
        sa.ForeignKeyConstraint(
            ["unit_id"],
            ["unit.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("sighting_id", "unit_id", name="uq_link"),
    )
    op.create_index(
        "ix_link_question",
        "link",
        ["sighting_id"],
        unique=False,
        sqlite_where=sa.text("decision IS NULL AND current = 1"),
    )
    op.create_index(op.f("ix_link_unit_id"), "link", ["unit_id"], unique=False)
    op.create_table(
        "placement",
        sa.Column("photo_id", sa.Integer(), nullable=False),
        sa.Column("sighting_id", sa.Integer(), nullable=True),
        sa.Column("confidence", sa.Float(), nullable=False),
        sa.Column("at", sa.String(), nullable=True),
        sa.Column("runner_up_id", sa.Integer(), nullable=True),
        sa.Column("reasons", sa.JSON(none_as_null=True), server_default="[]", nullable=False),
        sa.Column("why", sa.String(), nullable=False),
        sa.Column("decision", sa.String(), nullable=True),
        sa.Column("decided_sighting_id", sa.Integer(), nullable=True),
        sa.Column("decided_by", sa.String(), nullable=True),
        sa.Column("decided_at", sa.String(), nullable=True),
        sa.Column(
            "shown_id",
            sa.Integer(),
            sa.Computed(
                "CASE WHEN decision IS NULL THEN sighting_id ELSE decided_sighting_id END", persisted=False
            ),
            nullable=True,
        ),
        sa.Column(
            "question",
            sa.Boolean(),
            sa.Computed("decision IS NULL AND reasons <> '[]'", persisted=False),
            nullable=True,
        ),
        sa.CheckConstraint(
            "decision IN ('accepted', 'moved') OR decision IS NULL", name="ck_placement_decision"
        ),
        sa.CheckConstraint("(decision IS NULL) = (decided_by IS NULL)", name="ck_placement_decided"),
        sa.CheckConstraint("confidence BETWEEN 0 AND 1", name="ck_placement_confidence"),
        sa.ForeignKeyConstraint(
            ["decided_sighting_id"],
            ["sighting.id"],
        ),
        sa.ForeignKeyConstraint(
            ["photo_id"],
            ["photo.id"],
        ),
        sa.ForeignKeyConstraint(
            ["runner_up_id"],
            ["sighting.id"],
        ),
        sa.ForeignKeyConstraint(
            ["sighting_id"],
            ["sighting.id"],
        ),
        sa.PrimaryKeyConstraint("photo_id"),
    )
    op.create_index(
        op.f("ix_placement_decided_sighting_id"), "placement", ["decided_sighting_id"], unique=False
    )
    op.create_index(op.f("ix_placement_sighting_id"), "placement", ["sighting_id"], unique=False)


VIEWS = (
    """
    CREATE VIEW v_units AS
    SELECT n.unit_id, n.unit_type, n.maker, n.model, n.serial, n.quantity, n.grouping, n.location, n.stage,
           n.stage_since, n.source, n.cosmetic, n.first_seen, n.last_seen, n.sightings, n.photos,
           n.questions AS open_questions, n.first_sighting, n.last_sighting
    FROM unit_now n
    """,
    """
    CREATE VIEW v_sightings AS
    SELECT s.unit_id, s.walk_id || '/' || s.local_id AS sighting, s.walk_id, w.date, s.state, s.origin,
           s.linked AS linked_by, s.link_confidence,
           json_extract(s.spans, '$[0].recording') AS recording,
           json_extract(s.spans, '$[0].start_s') AS start_s,
           json_extract(s.spans, '$[0].end_s') AS end_s, s.id AS sighting_key
    FROM sighting s JOIN walk w ON w.id = s.walk_id
    """,
    """
    CREATE VIEW v_values AS
    SELECT s.unit_id, s.walk_id || '/' || s.local_id AS sighting, w.date, e.field, e.number,
           json_extract(e.held, '$') AS value, coalesce(e.decision, 'open') AS state, e.confidence,
           e.question AS is_open_question,
           coalesce(e.decided_by, CASE WHEN s.origin = 'machine' OR e.rule <> '' THEN 'machine' ELSE s.origin END)
               AS origin,
           e.decided_at, json_extract(e.value, '$') AS machine_value, e.rule,
           json_extract(e.evidence, '$[0].recording') AS recording,
           json_extract(e.evidence, '$[0].start_s') AS start_s, json_extract(e.evidence, '$[0].end_s') AS end_s,
           json_extract(e.evidence, '$[0].words') AS words, e.reasons, e.alternatives, e.id AS entry_key
    FROM entry e JOIN sighting s ON s.id = e.sighting_id JOIN walk w ON w.id = s.walk_id
    WHERE s.state = 'seen' AND (e.held IS NOT NULL OR e.question OR e.decision IS NOT NULL)
    """,
    """
    CREATE VIEW v_open_questions AS
    SELECT 'value' AS kind, v.unit_id, v.sighting, v.field AS name, v.value,
           CASE WHEN v.state = 'open' THEN v.reasons ELSE '["a newer reading differs"]' END AS reasons, v.confidence,
           v.words
    FROM v_values v WHERE v.is_open_question
    UNION ALL
    SELECT 'photo', s.unit_id, p.walk_id || '/' || coalesce(s.local_id, ''), p.name,
           coalesce(s.local_id, 'none'), pl.reasons, pl.confidence, NULL
    FROM placement pl JOIN photo p ON p.id = pl.photo_id LEFT JOIN sighting s ON s.id = pl.shown_id
    WHERE pl.question
    UNION ALL
    SELECT 'link', s.unit_id, s.walk_id || '/' || s.local_id, l.unit_id, NULL, l.reasons, l.confidence, NULL
    FROM link l JOIN sighting s ON s.id = l.sighting_id
    WHERE l.decision IS NULL AND l.current = 1 AND s.state = 'seen'
    UNION ALL
    SELECT 'clock', NULL, c.walk_id, c.camera, c.offset_s, json_array(c.how), 0, NULL
    FROM camera_clock c WHERE NOT c.known AND c.decided_offset_s IS NULL
    """,
    """
    CREATE VIEW v_issues AS
    SELECT i.unit_id, n.maker, n.model, n.location, i.part, i.symptom, i.side, i.state, i.since, i.until, i.sighting
    FROM issue_run i JOIN unit_now n USING (unit_id)
    """,
    """
    CREATE VIEW v_actions AS
    SELECT a.unit_id, n.maker, n.model, n.location, n.stage, a.work, a.part, a.due, a.waiting_on, a.since,
           a.until AS done, a.sighting
    FROM action_run a JOIN unit_now n USING (unit_id)
    """,
    """
    CREATE VIEW v_service AS
    SELECT v.unit_id, v.sighting, v.date AS said_on, json_extract(e.held, '$.work') AS work,
           json_extract(e.held, '$.part') AS part, json_extract(e.held, '$.date') AS done_on,
           json_extract(e.held, '$.by') AS done_by
    FROM v_values v JOIN entry e ON e.id = v.entry_key
    WHERE v.field = 'service' AND e.held IS NOT NULL
    """,
    """
    CREATE VIEW v_measurements AS
    SELECT v.unit_id, v.sighting, v.date, json_extract(e.held, '$.what') AS what,
           json_extract(e.held, '$.value') AS value, json_extract(e.held, '$.unit') AS unit,
           json_extract(e.held, '$.side') AS side
    FROM v_values v JOIN entry e ON e.id = v.entry_key
    WHERE v.field = 'measurements' AND e.held IS NOT NULL
    """,
    """
    CREATE VIEW v_stages AS
    SELECT r.unit_id, n.maker, n.model, r.stage, r.since, r.until, r.sighting
    FROM stage_run r JOIN unit_now n USING (unit_id)
    """,
    """
    CREATE VIEW v_blocked AS
    SELECT n.unit_id, n.unit_type, n.maker, n.model, n.serial, n.location, n.source, n.stage_since AS waiting_since,
           (SELECT group_concat(DISTINCT a.waiting_on) FROM action_run a
            WHERE a.unit_id = n.unit_id AND a.until IS NULL) AS waiting_on
    FROM unit_now n WHERE n.stage = 'waiting'
    """,
    """
    CREATE VIEW v_photos AS
    SELECT s.unit_id, p.walk_id || '/' || s.local_id AS sighting, p.walk_id, p.name, f.path, p.taken_at,
           p.taken_offset_min, pl.at AS corrected_at, pl.confidence, coalesce(pl.decision, 'open') AS state, pl.reasons
    FROM photo p JOIN file f ON f.sha256 = p.sha256 JOIN placement pl ON pl.photo_id = p.id
    LEFT JOIN sighting d ON d.id = pl.shown_id
    LEFT JOIN sighting s ON s.id = coalesce(d.merged_into, d.id) AND s.state = 'seen'
    """,
    """
    CREATE VIEW v_changes AS
    SELECT c.id, c.batch_id, b.at, b.who, b.action, c.unit_id, c.about, c.field, c.was, c.now, b.why,
           b.undone_by IS NOT NULL AS undone, b.undone_by
    FROM change c JOIN batch b ON b.id = c.batch_id
    """,
)

# What was done stays on file: the log can be added to, and a batch marked as undone, nothing else.
GUARDS = (
    """
    CREATE TRIGGER change_is_never_rewritten BEFORE UPDATE ON change
    BEGIN SELECT RAISE(ABORT, 'the log of changes is never rewritten'); END
    """,
    """
    CREATE TRIGGER change_is_never_deleted BEFORE DELETE ON change
    BEGIN SELECT RAISE(ABORT, 'the log of changes is never rewritten'); END
    """,
    """
    CREATE TRIGGER batch_is_never_rewritten BEFORE UPDATE OF id, at, who, kind, action, why, undoes ON batch
    BEGIN SELECT RAISE(ABORT, 'the log of changes is never rewritten'); END
    """,
    """
    CREATE TRIGGER batch_is_never_deleted BEFORE DELETE ON batch
    BEGIN SELECT RAISE(ABORT, 'the log of changes is never rewritten'); END
    """,
)
