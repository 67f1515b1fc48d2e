using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class MocksAndPapers : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<Guid>(
                name: "licence_checked_by",
                schema: "pupils",
                table: "pupils",
                type: "uuid",
                nullable: true);

            migrationBuilder.AddColumn<LocalDate>(
                name: "licence_checked_on",
                schema: "pupils",
                table: "pupils",
                type: "date",
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "theory_certificate_sealed",
                schema: "pupils",
                table: "pupils",
                type: "text",
                nullable: true);

            migrationBuilder.AddColumn<LocalDate>(
                name: "theory_passed_on",
                schema: "pupils",
                table: "pupils",
                type: "date",
                nullable: true);

            migrationBuilder.CreateTable(
                name: "mock_test_changes",
                schema: "syllabus",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    mock_test_id = table.Column<Guid>(type: "uuid", nullable: false),
                    at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    by_person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    by_name = table.Column<string>(type: "text", nullable: false),
                    words = table.Column<string>(type: "text", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_mock_test_changes", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "mock_tests",
                schema: "syllabus",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    on = table.Column<LocalDate>(type: "date", nullable: false),
                    lesson_id = table.Column<Guid>(type: "uuid", nullable: true),
                    eta_verbal = table.Column<int>(type: "integer", nullable: false),
                    eta_physical = table.Column<int>(type: "integer", nullable: false),
                    note = table.Column<string>(type: "text", nullable: false),
                    started_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    recorded_by = table.Column<Guid>(type: "uuid", nullable: false),
                    recorded_by_name = table.Column<string>(type: "text", nullable: false),
                    finished_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    version = table.Column<int>(type: "integer", nullable: false),
                    faults = table.Column<string>(type: "jsonb", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_mock_tests", x => x.id);
                });

            migrationBuilder.CreateIndex(
                name: "ix_mock_test_changes_mock_test_id",
                schema: "syllabus",
                table: "mock_test_changes",
                column: "mock_test_id");

            migrationBuilder.CreateIndex(
                name: "ix_mock_tests_pupil_id_on",
                schema: "syllabus",
                table: "mock_tests",
                columns: new[] { "pupil_id", "on" });

            migrationBuilder.Sql("""
                ALTER TABLE syllabus.mock_tests ADD CONSTRAINT mock_tests_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
                ALTER TABLE syllabus.mock_tests ADD CONSTRAINT mock_tests_lesson_fk FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id);
                ALTER TABLE syllabus.mock_test_changes ADD CONSTRAINT mock_test_changes_mock_fk FOREIGN KEY (mock_test_id) REFERENCES syllabus.mock_tests (id);
                CREATE TRIGGER mock_test_changes_only_added BEFORE UPDATE OR DELETE ON syllabus.mock_test_changes
                    FOR EACH ROW EXECUTE FUNCTION records.refuse_change();
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "mock_test_changes",
                schema: "syllabus");

            migrationBuilder.DropTable(
                name: "mock_tests",
                schema: "syllabus");

            migrationBuilder.DropColumn(
                name: "licence_checked_by",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "licence_checked_on",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "theory_certificate_sealed",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "theory_passed_on",
                schema: "pupils",
                table: "pupils");
        }
    }
}
