using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class PeopleOfTheStaff : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateIndex(
                name: "people_of_the_staff",
                schema: "people",
                table: "people",
                column: "role",
                filter: "role <> 'Pupil'");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "people_of_the_staff",
                schema: "people",
                table: "people");
        }
    }
}
