using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class Swaps : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "swap_answers",
                schema: "diary",
                columns: table => new
                {
                    proposal_id = table.Column<Guid>(type: "uuid", nullable: false),
                    lesson_id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    lapses_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    secret_hash = table.Column<byte[]>(type: "bytea", nullable: false),
                    open = table.Column<bool>(type: "boolean", nullable: false),
                    reply = table.Column<string>(type: "text", nullable: false),
                    how = table.Column<string>(type: "text", nullable: true),
                    answered_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    by_person_id = table.Column<Guid>(type: "uuid", nullable: true),
                    by_name = table.Column<string>(type: "text", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_swap_answers", x => new { x.proposal_id, x.lesson_id });
                    table.CheckConstraint("swap_answers_told", "(reply = 'None') = (answered_at IS NULL) AND (how IS NULL) = (answered_at IS NULL)");
                    table.ForeignKey(
                        name: "fk_swap_answers_proposals_proposal_id",
                        column: x => x.proposal_id,
                        principalSchema: "diary",
                        principalTable: "proposals",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "ix_swap_answers_pupil_id",
                schema: "diary",
                table: "swap_answers",
                column: "pupil_id");

            migrationBuilder.CreateIndex(
                name: "swap_answers_open_once",
                schema: "diary",
                table: "swap_answers",
                column: "lesson_id",
                unique: true,
                filter: "open");

            migrationBuilder.Sql("""
                ALTER TABLE diary.swap_answers ADD CONSTRAINT swap_answers_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
                ALTER TABLE diary.swap_answers ADD CONSTRAINT swap_answers_lesson_fk FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id);
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "swap_answers",
                schema: "diary");
        }
    }
}
