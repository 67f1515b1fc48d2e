using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class PlacesAndSupervisors : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "ix_supervised_days_instructor_id_date",
                schema: "diary",
                table: "supervised_days");

            migrationBuilder.AddColumn<LocalDate>(
                name: "provisional_beside_from",
                schema: "pupils",
                table: "pupils",
                type: "date",
                nullable: true);

            migrationBuilder.AddColumn<LocalDate>(
                name: "provisional_beside_until",
                schema: "pupils",
                table: "pupils",
                type: "date",
                nullable: true);

            migrationBuilder.CreateIndex(
                name: "ix_supervised_days_instructor_id_date_by_number",
                schema: "diary",
                table: "supervised_days",
                columns: new[] { "instructor_id", "date", "by_number" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "ix_postcodes_latitude_longitude",
                schema: "places",
                table: "postcodes",
                columns: new[] { "latitude", "longitude" });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "ix_supervised_days_instructor_id_date_by_number",
                schema: "diary",
                table: "supervised_days");

            migrationBuilder.DropIndex(
                name: "ix_postcodes_latitude_longitude",
                schema: "places",
                table: "postcodes");

            migrationBuilder.DropColumn(
                name: "provisional_beside_from",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "provisional_beside_until",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.CreateIndex(
                name: "ix_supervised_days_instructor_id_date",
                schema: "diary",
                table: "supervised_days",
                columns: new[] { "instructor_id", "date" },
                unique: true);
        }
    }
}
