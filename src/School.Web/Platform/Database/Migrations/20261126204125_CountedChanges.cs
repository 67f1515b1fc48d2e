using System;
using System.IO;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <summary>Feeds, pupils and their learning count their changes; what is not over, not recorded yet, or was last, has an index.</summary>
    internal partial class CountedChanges : Migration
    {
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "ix_pupils_usual_instructor_id",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.AddColumn<string>(
                name: "told_by",
                schema: "calendars",
                table: "feeds",
                type: "text",
                nullable: true);

            migrationBuilder.AddColumn<Instant>(
                name: "told_until",
                schema: "calendars",
                table: "feeds",
                type: "timestamp with time zone",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "told_version",
                schema: "calendars",
                table: "feeds",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "version",
                schema: "calendars",
                table: "feeds",
                type: "bigint",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.CreateTable(
                name: "learning_versions",
                schema: "syllabus",
                columns: table => new
                {
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    version = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_learning_versions", x => x.pupil_id);
                });

            migrationBuilder.CreateIndex(
                name: "ix_time_off_ends_at",
                schema: "diary",
                table: "time_off",
                column: "ends_at");

            migrationBuilder.CreateIndex(
                name: "ix_test_days_starts_at1",
                schema: "diary",
                table: "test_days",
                column: "starts_at",
                filter: "state = 'Booked'");

            migrationBuilder.CreateIndex(
                name: "ix_pupils_usual_instructor_id_retired_on",
                schema: "pupils",
                table: "pupils",
                columns: new[] { "usual_instructor_id", "retired_on" });

            migrationBuilder.CreateIndex(
                name: "ix_offers_offered_at",
                schema: "diary",
                table: "offers",
                column: "offered_at");

            migrationBuilder.CreateIndex(
                name: "ix_lessons_ends_at",
                schema: "diary",
                table: "lessons",
                column: "ends_at",
                filter: "state = 'Booked'");

            migrationBuilder.CreateIndex(
                name: "ix_feeds_car_id",
                schema: "calendars",
                table: "feeds",
                column: "car_id",
                filter: "revoked_at IS NULL");

            migrationBuilder.CreateIndex(
                name: "ix_feeds_instructor_id",
                schema: "calendars",
                table: "feeds",
                column: "instructor_id",
                filter: "revoked_at IS NULL");

            migrationBuilder.CreateIndex(
                name: "ix_feeds_pupil_id",
                schema: "calendars",
                table: "feeds",
                column: "pupil_id",
                filter: "revoked_at IS NULL");

            using var stream = typeof(CountedChanges).Assembly.GetManifestResourceStream("20261126204125_CountedChanges.sql");
            using var reader = new StreamReader(stream);
            migrationBuilder.Sql(reader.ReadToEnd());
        }

        protected override void Down(MigrationBuilder migrationBuilder) =>
            throw new NotSupportedException("Restore the backup that was made before.");
    }
}
