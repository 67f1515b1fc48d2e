using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class KeptForms : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<Instant>(
                name: "said_at",
                schema: "syllabus",
                table: "mock_tests",
                type: "timestamp with time zone",
                nullable: true);

            migrationBuilder.CreateTable(
                name: "kept_forms",
                schema: "platform",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    address = table.Column<string>(type: "text", nullable: false),
                    fields = table.Column<byte[]>(type: "bytea", nullable: false),
                    kept_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_kept_forms", x => x.id);
                });

            migrationBuilder.CreateIndex(
                name: "ix_kept_forms_kept_at",
                schema: "platform",
                table: "kept_forms",
                column: "kept_at");

            migrationBuilder.CreateIndex(
                name: "ix_kept_forms_person_id_kept_at",
                schema: "platform",
                table: "kept_forms",
                columns: new[] { "person_id", "kept_at" });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "said_at",
                schema: "syllabus",
                table: "mock_tests");

            migrationBuilder.DropTable(
                name: "kept_forms",
                schema: "platform");
        }
    }
}
