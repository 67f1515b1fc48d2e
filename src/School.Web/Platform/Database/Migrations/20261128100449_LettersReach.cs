using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class LettersReach : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<Instant>(
                name: "reached_at",
                schema: "people",
                table: "people",
                type: "timestamp with time zone",
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "reached_by",
                schema: "people",
                table: "people",
                type: "text",
                nullable: false,
                defaultValue: "");
            migrationBuilder.Sql("ALTER TABLE people.people ALTER COLUMN reached_by DROP DEFAULT;");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "reached_at",
                schema: "people",
                table: "people");

            migrationBuilder.DropColumn(
                name: "reached_by",
                schema: "people",
                table: "people");
        }
    }
}
