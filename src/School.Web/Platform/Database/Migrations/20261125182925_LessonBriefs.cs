using System;
using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class LessonBriefs : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "brief_settings",
                schema: "syllabus",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    hour = table.Column<int>(type: "integer", nullable: true),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_brief_settings", x => x.id);
                    table.CheckConstraint("brief_settings_hour", "hour BETWEEN 12 AND 22");
                });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "brief_settings",
                schema: "syllabus");
        }
    }
}
