using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class OffRoadVersions : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<int>(
                name: "version",
                schema: "cars",
                table: "off_road",
                type: "integer",
                nullable: false,
                defaultValue: 1);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "version",
                schema: "cars",
                table: "off_road");
        }
    }
}
