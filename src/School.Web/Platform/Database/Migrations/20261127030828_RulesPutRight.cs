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
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
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
