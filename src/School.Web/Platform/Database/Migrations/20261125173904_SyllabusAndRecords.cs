using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class SyllabusAndRecords : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.EnsureSchema(
                name: "syllabus");

            migrationBuilder.CreateTable(
                name: "editions",
                schema: "syllabus",
                columns: table => new
                {
                    number = table.Column<int>(type: "integer", nullable: false),
                    made_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    made_by = table.Column<string>(type: "text", nullable: false),
                    words = table.Column<string>(type: "text", nullable: false),
                    content = table.Column<string>(type: "jsonb", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_editions", x => x.number);
                });

            migrationBuilder.CreateTable(
                name: "lesson_record_changes",
                schema: "syllabus",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    lesson_id = table.Column<Guid>(type: "uuid", nullable: false),
                    at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    by_person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    by_name = table.Column<string>(type: "text", nullable: false),
                    content = table.Column<string>(type: "jsonb", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_lesson_record_changes", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "lesson_records",
                schema: "syllabus",
                columns: table => new
                {
                    lesson_id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    edition = table.Column<int>(type: "integer", nullable: false),
                    aim = table.Column<string>(type: "text", nullable: false),
                    private_note = table.Column<string>(type: "text", nullable: false),
                    route = table.Column<string>(type: "text", nullable: true),
                    miles = table.Column<decimal>(type: "numeric(5,1)", precision: 5, scale: 1, nullable: true),
                    recorded_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    recorded_by = table.Column<Guid>(type: "uuid", nullable: false),
                    reflection = table.Column<string>(type: "text", nullable: false),
                    reflected_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    levels = table.Column<string>(type: "jsonb", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_lesson_records", x => x.lesson_id);
                    table.CheckConstraint("lesson_records_miles", "miles BETWEEN 0 AND 300");
                });

            migrationBuilder.CreateTable(
                name: "settings",
                schema: "syllabus",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    stale_days = table.Column<int>(type: "integer", nullable: false),
                    practice_weight = table.Column<int>(type: "integer", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_syllabus_settings", x => x.id);
                    table.CheckConstraint("syllabus_practice_weight", "practice_weight BETWEEN 0 AND 100");
                    table.CheckConstraint("syllabus_stale_days", "stale_days BETWEEN 7 AND 365");
                });

            migrationBuilder.CreateIndex(
                name: "ix_lesson_record_changes_lesson_id",
                schema: "syllabus",
                table: "lesson_record_changes",
                column: "lesson_id");

            migrationBuilder.CreateIndex(
                name: "ix_lesson_records_pupil_id",
                schema: "syllabus",
                table: "lesson_records",
                column: "pupil_id");

            migrationBuilder.Sql("""
                ALTER TABLE syllabus.lesson_records ADD CONSTRAINT lesson_records_lesson_fk FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id);
                ALTER TABLE syllabus.lesson_records ADD CONSTRAINT lesson_records_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
                ALTER TABLE syllabus.lesson_records ADD CONSTRAINT lesson_records_edition_fk FOREIGN KEY (edition) REFERENCES syllabus.editions (number);
                ALTER TABLE syllabus.lesson_record_changes ADD CONSTRAINT lesson_record_changes_lesson_fk FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id);
                CREATE TRIGGER editions_only_added BEFORE UPDATE OR DELETE ON syllabus.editions
                    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
                CREATE TRIGGER lesson_record_changes_only_added BEFORE UPDATE OR DELETE ON syllabus.lesson_record_changes
                    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "editions",
                schema: "syllabus");

            migrationBuilder.DropTable(
                name: "lesson_record_changes",
                schema: "syllabus");

            migrationBuilder.DropTable(
                name: "lesson_records",
                schema: "syllabus");

            migrationBuilder.DropTable(
                name: "settings",
                schema: "syllabus");
        }
    }
}
