using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    internal partial class ChargesToProposals
    {
        /// <summary>Sets of changes are of one shape; covers become proposals.</summary>
        private static void Proposals(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "proposals",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    kind = table.Column<string>(type: "text", nullable: false),
                    ask = table.Column<string>(type: "text", nullable: false),
                    asked_by = table.Column<Guid>(type: "uuid", nullable: false),
                    asked_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: true),
                    state = table.Column<string>(type: "text", nullable: false),
                    done = table.Column<int>(type: "integer", nullable: false),
                    of = table.Column<int>(type: "integer", nullable: false),
                    lines = table.Column<string>(type: "text", nullable: true),
                    more = table.Column<string>(type: "text", nullable: true),
                    part = table.Column<string>(type: "text", nullable: true),
                    seen = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_proposals", x => x.id);
                    table.CheckConstraint("proposals_lines_when_ready", "state IN ('Working', 'Stopped') OR lines IS NOT NULL");
                });

            migrationBuilder.CreateIndex(name: "ix_proposals_asked_at", schema: "diary", table: "proposals", column: "asked_at", filter: "state = 'Working'");
            migrationBuilder.CreateIndex(name: "ix_proposals_kind_asked_at", schema: "diary", table: "proposals", columns: new[] { "kind", "asked_at" });
            migrationBuilder.Sql("ALTER TABLE diary.proposals ADD CONSTRAINT proposals_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id)");

            // What was worked out before is kept; its versions say nothing, so it is worked out anew before it is carried out.
            migrationBuilder.Sql("""
                INSERT INTO diary.proposals (id, kind, ask, asked_by, asked_at, state, done, of, lines, more, part, seen, version)
                SELECT c.id, 'Cover',
                    jsonb_build_object(
                        'instructorId', c.instructor_id, 'carId', c.car_id,
                        'start', to_char(c.starts_at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"'), 'end', to_char(c.ends_at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"'),
                        'reason', c.reason, 'mayMoveMinutes', c.may_move_minutes)::text,
                    '00000000-0000-0000-0000-000000000000', c.asked_at, c.state, c.done, c."of",
                    CASE WHEN c.answer IS NOT NULL THEN (
                        SELECT coalesce(jsonb_agg(jsonb_build_object(
                            'id', line->'lessonId', 'act', CASE WHEN line->>'instructorId' IS NULL THEN 'cancel' ELSE 'move' END,
                            'lessonIds', jsonb_build_array(line->'lessonId'), 'instructorId', line->'instructorId', 'carId', line->'carId', 'start', line->'start',
                            'charge', jsonb_build_object('code', CASE WHEN c.car_id IS NULL THEN 'free_instructor_ill' ELSE 'free_car' END, 'chargeable', false),
                            'whyNot', line->'whyNot') ORDER BY place), '[]'::jsonb)
                        FROM jsonb_array_elements(c.answer::jsonb->'lines') WITH ORDINALITY AS lines (line, place))::text END,
                    CASE WHEN c.answer IS NOT NULL THEN jsonb_build_object('cost', c.answer::jsonb->'cost', 'bound', c.answer::jsonb->'bound')::text END,
                    CASE WHEN c.answer IS NOT NULL THEN '{"dates":[]}' END,
                    '', c.version
                FROM diary.covers AS c;
                """);

            migrationBuilder.DropTable(name: "covers", schema: "diary");
        }
    }
}
