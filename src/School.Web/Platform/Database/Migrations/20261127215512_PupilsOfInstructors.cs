using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class PupilsOfInstructors : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<bool>(
                name: "pupils_belong_to_instructor",
                schema: "people",
                table: "school",
                type: "boolean",
                nullable: false,
                defaultValue: false);
            migrationBuilder.Sql("ALTER TABLE people.school ALTER COLUMN pupils_belong_to_instructor DROP DEFAULT;");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "pupils_belong_to_instructor",
                schema: "people",
                table: "school");
        }
    }
}
