using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class DayOrder : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "availability",
                schema: "pupils",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    day = table.Column<string>(type: "text", nullable: false),
                    from = table.Column<LocalTime>(type: "time", nullable: false),
                    to = table.Column<LocalTime>(type: "time", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_availability", x => x.id);
                    table.CheckConstraint("availability_end_after_start", "\"to\" > \"from\"");
                    table.ForeignKey(
                        name: "fk_availability_pupils_pupil_id",
                        column: x => x.pupil_id,
                        principalSchema: "pupils",
                        principalTable: "pupils",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "late_notes",
                schema: "diary",
                columns: table => new
                {
                    lesson_id = table.Column<Guid>(type: "uuid", nullable: false),
                    starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    minutes = table.Column<int>(type: "integer", nullable: false),
                    told_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    times = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_late_notes", x => x.lesson_id);
                    table.CheckConstraint("late_notes_minutes", "minutes >= 0");
                    table.ForeignKey(
                        name: "fk_late_notes_lesson_lesson_id",
                        column: x => x.lesson_id,
                        principalSchema: "diary",
                        principalTable: "lessons",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "ix_availability_pupil_id",
                schema: "pupils",
                table: "availability",
                column: "pupil_id");

            migrationBuilder.Sql("""
                ALTER TABLE pupils.availability ADD CONSTRAINT availability_once EXCLUDE USING gist (
                    pupil_id WITH =, day WITH =, int4range(extract(epoch FROM "from")::int, extract(epoch FROM "to")::int) WITH &&);
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "availability",
                schema: "pupils");

            migrationBuilder.DropTable(
                name: "late_notes",
                schema: "diary");
        }
    }
}
