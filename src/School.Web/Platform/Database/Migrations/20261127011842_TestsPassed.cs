using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class TestsPassed : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateIndex(
                name: "test_days_passed",
                schema: "diary",
                table: "test_days",
                column: "starts_at",
                filter: "state = 'Passed'");

            migrationBuilder.CreateIndex(
                name: "test_days_passed_of_pupil",
                schema: "diary",
                table: "test_days",
                columns: new[] { "pupil_id", "starts_at" },
                filter: "state = 'Passed'");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "test_days_passed",
                schema: "diary",
                table: "test_days");

            migrationBuilder.DropIndex(
                name: "test_days_passed_of_pupil",
                schema: "diary",
                table: "test_days");
        }
    }
}
