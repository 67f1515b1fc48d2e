using System;
using Microsoft.EntityFrameworkCore.Migrations;

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
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
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
