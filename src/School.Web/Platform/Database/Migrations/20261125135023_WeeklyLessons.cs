using System;
using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class WeeklyLessons : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<Guid>(
                name: "series_id",
                schema: "diary",
                table: "lessons",
                type: "uuid",
                nullable: true);

            migrationBuilder.CreateIndex(
                name: "ix_lessons_series_id_starts_at",
                schema: "diary",
                table: "lessons",
                columns: new[] { "series_id", "starts_at" },
                filter: "series_id IS NOT NULL");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "ix_lessons_series_id_starts_at",
                schema: "diary",
                table: "lessons");

            migrationBuilder.DropColumn(
                name: "series_id",
                schema: "diary",
                table: "lessons");
        }
    }
}
