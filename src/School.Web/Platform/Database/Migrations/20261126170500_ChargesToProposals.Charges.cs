using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    internal partial class ChargesToProposals
    {
        /// <summary>Row and history of a lesson know the charge by code and facts.</summary>
        private static void Charges(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(name: "charge_code", schema: "diary", table: "lessons", type: "text", nullable: true);
            migrationBuilder.AddColumn<bool>(name: "charge_chargeable", schema: "diary", table: "lessons", type: "boolean", nullable: true);
            migrationBuilder.AddColumn<string>(name: "charge_act", schema: "diary", table: "lessons", type: "text", nullable: true);
            migrationBuilder.AddColumn<Instant>(name: "charge_start", schema: "diary", table: "lessons", type: "timestamp with time zone", nullable: true);
            migrationBuilder.AddColumn<Instant>(name: "charge_free_until", schema: "diary", table: "lessons", type: "timestamp with time zone", nullable: true);
            migrationBuilder.AddColumn<Instant>(name: "charge_at", schema: "diary", table: "lessons", type: "timestamp with time zone", nullable: true);

            // A sentence that no line of the history holds is kept there, in its old words.
            migrationBuilder.Sql("""
                INSERT INTO diary.lesson_changes (id, lesson_id, kind, at, by_person_id, by_name, words, starts_at, instructor_id)
                SELECT gen_random_uuid(), l.id, CASE WHEN l.state = 'Missed' THEN 'Missed' ELSE 'Cancelled' END, l.changed_at,
                    '00000000-0000-0000-0000-000000000000', 'The service', l.charge_policy, l.starts_at, l.instructor_id
                FROM diary.lessons AS l
                WHERE l.charge_policy <> '' AND NOT EXISTS (
                    SELECT FROM diary.lesson_changes AS c WHERE c.lesson_id = l.id AND position(l.charge_policy IN c.words) > 0);
                """);

            // The notice of that day stands in the sentence where it decided; elsewhere today's is as good.
            migrationBuilder.Sql("""
                UPDATE diary.lessons AS l SET
                    charge_code = CASE
                        WHEN l.state = 'Missed' AND l.chargeable THEN 'Missed'
                        WHEN l.state = 'Missed' THEN 'Waived'
                        WHEN l.cancelled_because = 'InstructorIll' THEN 'FreeInstructorIll'
                        WHEN l.cancelled_because = 'Weather' THEN 'FreeWeather'
                        WHEN l.cancelled_because = 'Car' THEN 'FreeCar'
                        WHEN l.chargeable THEN 'Late'
                        WHEN l.charge_policy LIKE 'Cancelled by the school%' THEN 'FreeSchool'
                        ELSE 'FreeInTime' END,
                    charge_chargeable = l.chargeable,
                    charge_act = CASE WHEN l.state = 'Missed' THEN 'Missed' ELSE 'Cancel' END,
                    charge_start = l.starts_at,
                    charge_free_until = l.starts_at - make_interval(hours => coalesce(
                        substring(l.charge_policy FROM 'free until (\d+) hours? before')::int,
                        CASE WHEN l.charge_policy LIKE '%free until it begins%' THEN 0 END,
                        (SELECT notice_to_move_hours FROM diary.settings LIMIT 1),
                        48)),
                    charge_at = coalesce(
                        (SELECT max(c.at) FROM diary.lesson_changes AS c WHERE c.lesson_id = l.id AND c.kind IN ('Cancelled', 'Missed')), l.changed_at)
                WHERE l.chargeable IS NOT NULL;
                SET CONSTRAINTS ALL IMMEDIATE;
                """);

            migrationBuilder.DropCheckConstraint(name: "lessons_state_facts", schema: "diary", table: "lessons");
            migrationBuilder.DropColumn(name: "chargeable", schema: "diary", table: "lessons");
            migrationBuilder.DropColumn(name: "charge_policy", schema: "diary", table: "lessons");
            migrationBuilder.Sql("""
                ALTER TABLE diary.lessons ADD CONSTRAINT lessons_state_facts CHECK (
                    (state = 'Taught') = (minutes_taught IS NOT NULL)
                    AND (state = 'Cancelled') = (cancelled_because IS NOT NULL)
                    AND (state NOT IN ('Cancelled', 'Missed') OR charge_code IS NOT NULL)
                    AND num_nulls(charge_code, charge_chargeable, charge_act, charge_start, charge_free_until, charge_at) IN (0, 6));
                """);
        }
    }
}
