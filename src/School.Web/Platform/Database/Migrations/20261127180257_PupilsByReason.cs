using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class PupilsByReason : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "accesses",
                schema: "pupils",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    by_name = table.Column<string>(type: "text", nullable: false),
                    reason = table.Column<string>(type: "text", nullable: false),
                    at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    until = table.Column<Instant>(type: "timestamp with time zone", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_accesses", x => x.id);
                    table.ForeignKey(
                        name: "fk_accesses_pupils_pupil_id",
                        column: x => x.pupil_id,
                        principalSchema: "pupils",
                        principalTable: "pupils",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "ix_accesses_at",
                schema: "pupils",
                table: "accesses",
                column: "at");

            migrationBuilder.CreateIndex(
                name: "ix_accesses_person_id_until",
                schema: "pupils",
                table: "accesses",
                columns: new[] { "person_id", "until" });

            migrationBuilder.CreateIndex(
                name: "ix_accesses_pupil_id",
                schema: "pupils",
                table: "accesses",
                column: "pupil_id");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "accesses",
                schema: "pupils");
        }
    }
}
