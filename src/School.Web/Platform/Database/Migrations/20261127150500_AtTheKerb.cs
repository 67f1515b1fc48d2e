using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class AtTheKerb : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "map_link",
                schema: "diary",
                table: "settings",
                type: "text",
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<string>(
                name: "tells_late",
                schema: "diary",
                table: "settings",
                type: "text",
                nullable: false,
                defaultValue: "Never");

            migrationBuilder.AddColumn<Guid>(
                name: "said_by",
                schema: "syllabus",
                table: "mock_tests",
                type: "uuid",
                nullable: true);

            migrationBuilder.AddColumn<Guid>(
                name: "said_for_lesson",
                schema: "syllabus",
                table: "mock_tests",
                type: "uuid",
                nullable: true);

            migrationBuilder.CreateTable(
                name: "halt_calls",
                schema: "diary",
                columns: table => new
                {
                    halt_id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    called_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    by_person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    by_name = table.Column<string>(type: "text", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_halt_calls", x => new { x.halt_id, x.pupil_id });
                    table.ForeignKey(
                        name: "fk_halt_calls_proposal_halt_id",
                        column: x => x.halt_id,
                        principalSchema: "diary",
                        principalTable: "proposals",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "halt_calls",
                schema: "diary");

            migrationBuilder.DropColumn(
                name: "map_link",
                schema: "diary",
                table: "settings");

            migrationBuilder.DropColumn(
                name: "tells_late",
                schema: "diary",
                table: "settings");

            migrationBuilder.DropColumn(
                name: "said_by",
                schema: "syllabus",
                table: "mock_tests");

            migrationBuilder.DropColumn(
                name: "said_for_lesson",
                schema: "syllabus",
                table: "mock_tests");
        }
    }
}
