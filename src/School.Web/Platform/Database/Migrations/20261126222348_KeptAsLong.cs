using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;
using Npgsql.EntityFrameworkCore.PostgreSQL.Metadata;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <summary>Letters in their short form, with how they were worded; how long things are kept, and an index for what is cleared.</summary>
    internal partial class KeptAsLong : Migration
    {
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "ix_messages_state_due_at",
                schema: "messages",
                table: "messages");

            migrationBuilder.DropIndex(
                name: "messages_once",
                schema: "messages",
                table: "messages");

            migrationBuilder.DropPrimaryKey(
                name: "pk_lesson_record_changes",
                schema: "syllabus",
                table: "lesson_record_changes");

            migrationBuilder.DropIndex(
                name: "ix_lesson_record_changes_lesson_id",
                schema: "syllabus",
                table: "lesson_record_changes");

            migrationBuilder.DropPrimaryKey(
                name: "pk_lesson_changes",
                schema: "diary",
                table: "lesson_changes");

            migrationBuilder.DropIndex(
                name: "ix_lesson_changes_lesson_id",
                schema: "diary",
                table: "lesson_changes");

            migrationBuilder.AlterColumn<string>(
                name: "content",
                schema: "messages",
                table: "messages",
                type: "jsonb",
                nullable: true,
                oldClrType: typeof(string),
                oldType: "jsonb");

            migrationBuilder.AddColumn<int>(
                name: "letterhead_id",
                schema: "messages",
                table: "messages",
                type: "integer",
                nullable: true);

            migrationBuilder.AddColumn<bool>(
                name: "proof",
                schema: "messages",
                table: "messages",
                type: "boolean",
                nullable: false,
                defaultValue: true);

            migrationBuilder.AddColumn<byte[]>(
                name: "sent_digest",
                schema: "messages",
                table: "messages",
                type: "bytea",
                nullable: true);

            migrationBuilder.Sql(Letters);
            migrationBuilder.Sql("ALTER TABLE messages.messages ADD CONSTRAINT messages_once EXCLUDE USING hash (key WITH =);");
            migrationBuilder.Sql("CREATE INDEX occupied_ends ON diary.occupied (upper(during));");

            migrationBuilder.AddPrimaryKey(
                name: "pk_lesson_record_changes",
                schema: "syllabus",
                table: "lesson_record_changes",
                columns: new[] { "lesson_id", "id" });

            migrationBuilder.AddPrimaryKey(
                name: "pk_lesson_changes",
                schema: "diary",
                table: "lesson_changes",
                columns: new[] { "lesson_id", "id" });

            migrationBuilder.CreateTable(
                name: "letterheads",
                schema: "messages",
                columns: table => new
                {
                    id = table.Column<int>(type: "integer", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    digest = table.Column<byte[]>(type: "bytea", nullable: false),
                    content = table.Column<string>(type: "jsonb", nullable: false),
                    first_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_letterheads", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "retention_marks",
                schema: "records",
                columns: table => new
                {
                    code = table.Column<string>(type: "text", nullable: false),
                    cleared_until = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    not_told = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_retention_marks", x => x.code);
                });

            migrationBuilder.CreateTable(
                name: "retention_settings",
                schema: "records",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    days = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_retention_settings", x => x.id);
                });

            migrationBuilder.CreateIndex(
                name: "ix_waiting_closed_at",
                schema: "diary",
                table: "waiting",
                column: "closed_at",
                filter: "closed_at IS NOT NULL");

            migrationBuilder.CreateIndex(
                name: "ix_sessions_ends_at",
                schema: "people",
                table: "sessions",
                column: "ends_at");

            migrationBuilder.CreateIndex(
                name: "ix_proposals_asked_at1",
                schema: "diary",
                table: "proposals",
                column: "asked_at");

            migrationBuilder.CreateIndex(
                name: "ix_messages_closed_at",
                schema: "messages",
                table: "messages",
                column: "closed_at",
                filter: "NOT proof AND closed_at IS NOT NULL");

            migrationBuilder.CreateIndex(
                name: "ix_messages_closed_at1",
                schema: "messages",
                table: "messages",
                column: "closed_at",
                filter: "proof AND closed_at IS NOT NULL");

            migrationBuilder.CreateIndex(
                name: "messages_not_sent",
                schema: "messages",
                table: "messages",
                columns: new[] { "state", "id" },
                filter: "state <> 'Sent'");

            migrationBuilder.CreateIndex(
                name: "messages_waiting",
                schema: "messages",
                table: "messages",
                column: "due_at",
                filter: "state = 'Waiting'");

            migrationBuilder.CreateIndex(
                name: "ix_late_notes_told_at",
                schema: "diary",
                table: "late_notes",
                column: "told_at");

            migrationBuilder.CreateIndex(
                name: "ix_freed_slots_starts_at1",
                schema: "diary",
                table: "freed_slots",
                column: "starts_at");

            migrationBuilder.CreateIndex(
                name: "ix_feeds_revoked_at",
                schema: "calendars",
                table: "feeds",
                column: "revoked_at",
                filter: "revoked_at IS NOT NULL");

            migrationBuilder.CreateIndex(
                name: "ix_api_tokens_expires_at",
                schema: "people",
                table: "api_tokens",
                column: "expires_at");

            migrationBuilder.CreateIndex(
                name: "letterheads_once",
                schema: "messages",
                table: "letterheads",
                column: "digest",
                unique: true);
        }

        protected override void Down(MigrationBuilder migrationBuilder) =>
            throw new NotSupportedException("Restore the backup that was made before.");

        // Facts and acts as names and values in turn (LetterContent), said by SQL once; finished words that were kept stay what they are.
        private const string Letters =
            """
            UPDATE messages.messages m SET
                proof = m.key LIKE '%:pupil%' AND m.kind IN (
                    'lesson_booked', 'lesson_moved', 'lesson_cancelled', 'lesson_late', 'lessons_changed',
                    'weekly_booked', 'weekly_moved', 'weekly_cancelled', 'test_day_entered', 'test_day_changed', 'test_day_taken_off'),
                content = coalesce((
                    SELECT jsonb_agg(part ORDER BY n, side)
                    FROM jsonb_array_elements(m.content -> 'facts') WITH ORDINALITY AS f (fact, n), LATERAL (VALUES (1, fact -> 'name'), (2, CASE
                        WHEN fact ? 'text' AND fact - 'name' - 'text' = '{}' THEN fact -> 'text'
                        WHEN fact ? 'number' AND fact - 'name' - 'number' = '{}' THEN fact -> 'number'
                        WHEN fact ? 'from' AND fact ? 'until' AND fact - 'name' - 'from' - 'until' = '{}' THEN jsonb_build_array(fact -> 'from', fact -> 'until')
                        WHEN fact ? 'from' AND fact - 'name' - 'from' = '{}' THEN jsonb_build_array(fact -> 'from')
                        ELSE jsonb_set(fact, '{name}', '""') END)) AS s (side, part)), '[]')
                || jsonb_build_array(coalesce((
                    SELECT jsonb_agg(part ORDER BY n, side)
                    FROM jsonb_array_elements(m.content -> 'acts') WITH ORDINALITY AS a (act, n),
                        LATERAL (VALUES (1, act -> 'code'), (2, to_jsonb(replace(act ->> 'path', m.about_id::text, '{about}')))) AS s (side, part)), '[]'));
            """;
    }
}
