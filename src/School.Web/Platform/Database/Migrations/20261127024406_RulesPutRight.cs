using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class RulesPutRight : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "ending",
                schema: "diary",
                table: "test_days",
                type: "text",
                nullable: true);

            migrationBuilder.AddColumn<bool>(
                name: "extended",
                schema: "diary",
                table: "test_days",
                type: "boolean",
                nullable: false,
                defaultValue: false);

            migrationBuilder.AddColumn<int>(
                name: "extended_minutes",
                schema: "diary",
                table: "test_day_settings",
                type: "integer",
                nullable: false,
                defaultValue: 70);

            migrationBuilder.AddColumn<Instant>(
                name: "reminded_at",
                schema: "diary",
                table: "lessons",
                type: "timestamp with time zone",
                nullable: true);

            migrationBuilder.AddColumn<LocalDate>(
                name: "applied_again_on",
                schema: "people",
                table: "instructors",
                type: "date",
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "trainee_option",
                schema: "people",
                table: "instructors",
                type: "text",
                nullable: true);

            migrationBuilder.CreateTable(
                name: "shared_forecasts",
                schema: "syllabus",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    sentence = table.Column<string>(type: "text", nullable: false),
                    by_person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    by_name = table.Column<string>(type: "text", nullable: false),
                    shared_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_shared_forecasts", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "supervised_days",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: false),
                    date = table.Column<LocalDate>(type: "date", nullable: false),
                    minutes = table.Column<int>(type: "integer", nullable: false),
                    by = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_supervised_days", x => x.id);
                    table.CheckConstraint("supervised_days_minutes", "minutes BETWEEN 1 AND 720");
                });

            migrationBuilder.CreateIndex(
                name: "ix_shared_forecasts_pupil_id",
                schema: "syllabus",
                table: "shared_forecasts",
                column: "pupil_id",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "ix_supervised_days_instructor_id_date",
                schema: "diary",
                table: "supervised_days",
                columns: new[] { "instructor_id", "date" },
                unique: true);

            migrationBuilder.Sql(
                """
                ALTER TABLE diary.supervised_days ADD CONSTRAINT supervised_days_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
                ALTER TABLE syllabus.shared_forecasts ADD CONSTRAINT shared_forecasts_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "shared_forecasts",
                schema: "syllabus");

            migrationBuilder.DropTable(
                name: "supervised_days",
                schema: "diary");

            migrationBuilder.DropColumn(
                name: "ending",
                schema: "diary",
                table: "test_days");

            migrationBuilder.DropColumn(
                name: "extended",
                schema: "diary",
                table: "test_days");

            migrationBuilder.DropColumn(
                name: "extended_minutes",
                schema: "diary",
                table: "test_day_settings");

            migrationBuilder.DropColumn(
                name: "reminded_at",
                schema: "diary",
                table: "lessons");

            migrationBuilder.DropColumn(
                name: "applied_again_on",
                schema: "people",
                table: "instructors");

            migrationBuilder.DropColumn(
                name: "trainee_option",
                schema: "people",
                table: "instructors");
        }
    }
}
