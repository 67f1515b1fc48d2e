using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class TestDays : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "test_day_changes",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    test_day_id = table.Column<Guid>(type: "uuid", nullable: false),
                    at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    by_person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    by_name = table.Column<string>(type: "text", nullable: false),
                    words = table.Column<string>(type: "text", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_test_day_changes", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "test_day_settings",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    lead_minutes = table.Column<int>(type: "integer", nullable: false),
                    test_minutes = table.Column<int>(type: "integer", nullable: false),
                    tail_minutes = table.Column<int>(type: "integer", nullable: false),
                    notice_days = table.Column<int>(type: "integer", nullable: false),
                    retest_days = table.Column<int>(type: "integer", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_test_day_settings", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "test_days",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: true),
                    car_id = table.Column<Guid>(type: "uuid", nullable: true),
                    own_car = table.Column<bool>(type: "boolean", nullable: false),
                    starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    ends_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    blocked_from = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    blocked_until = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    nation = table.Column<string>(type: "text", nullable: false),
                    ends_at_pick_up = table.Column<bool>(type: "boolean", nullable: false),
                    reference = table.Column<string>(type: "text", nullable: false),
                    gearbox = table.Column<string>(type: "text", nullable: false),
                    insured_seen_on = table.Column<LocalDate>(type: "date", nullable: true),
                    state = table.Column<string>(type: "text", nullable: false),
                    driving = table.Column<int>(type: "integer", nullable: false),
                    serious = table.Column<int>(type: "integer", nullable: false),
                    dangerous = table.Column<int>(type: "integer", nullable: false),
                    eta_verbal = table.Column<int>(type: "integer", nullable: false),
                    eta_physical = table.Column<int>(type: "integer", nullable: false),
                    note = table.Column<string>(type: "text", nullable: false),
                    entered_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    changed_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    sequence = table.Column<int>(type: "integer", nullable: false),
                    centre_address = table.Column<string>(type: "text", nullable: false),
                    centre_label = table.Column<string>(type: "text", nullable: false),
                    centre_latitude = table.Column<double>(type: "double precision", nullable: false),
                    centre_longitude = table.Column<double>(type: "double precision", nullable: false),
                    centre_postcode = table.Column<string>(type: "text", nullable: false),
                    pick_up_address = table.Column<string>(type: "text", nullable: false),
                    pick_up_label = table.Column<string>(type: "text", nullable: false),
                    pick_up_latitude = table.Column<double>(type: "double precision", nullable: false),
                    pick_up_longitude = table.Column<double>(type: "double precision", nullable: false),
                    pick_up_postcode = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false),
                    marks = table.Column<string>(type: "jsonb", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_test_days", x => x.id);
                    table.CheckConstraint("test_days_times", "blocked_from <= starts_at AND starts_at < ends_at AND ends_at <= blocked_until");
                });

            migrationBuilder.CreateIndex(
                name: "ix_test_day_changes_test_day_id",
                schema: "diary",
                table: "test_day_changes",
                column: "test_day_id");

            migrationBuilder.CreateIndex(
                name: "ix_test_days_car_id",
                schema: "diary",
                table: "test_days",
                column: "car_id");

            migrationBuilder.CreateIndex(
                name: "ix_test_days_instructor_id",
                schema: "diary",
                table: "test_days",
                column: "instructor_id");

            migrationBuilder.CreateIndex(
                name: "ix_test_days_pupil_id",
                schema: "diary",
                table: "test_days",
                column: "pupil_id");

            migrationBuilder.CreateIndex(
                name: "ix_test_days_starts_at",
                schema: "diary",
                table: "test_days",
                column: "starts_at");

            using var stream = typeof(TestDays).Assembly.GetManifestResourceStream("occupied.sql")!;
            using var reader = new System.IO.StreamReader(stream);
            migrationBuilder.Sql(reader.ReadToEnd());
        }
    }
}
