using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class Places : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.EnsureSchema(
                name: "places");

            migrationBuilder.AddColumn<string>(
                name: "centre_certainty",
                schema: "diary",
                table: "test_days",
                type: "text",
                nullable: false,
                defaultValue: "Exact");

            migrationBuilder.AddColumn<string>(
                name: "pick_up_certainty",
                schema: "diary",
                table: "test_days",
                type: "text",
                nullable: false,
                defaultValue: "Exact");

            migrationBuilder.AddColumn<string>(
                name: "pick_up_certainty",
                schema: "pupils",
                table: "pupils",
                type: "text",
                nullable: false,
                defaultValue: "Exact");

            migrationBuilder.AddColumn<string>(
                name: "drop_off_certainty",
                schema: "diary",
                table: "lessons",
                type: "text",
                nullable: false,
                defaultValue: "Exact");

            migrationBuilder.AddColumn<string>(
                name: "pick_up_certainty",
                schema: "diary",
                table: "lessons",
                type: "text",
                nullable: false,
                defaultValue: "Exact");

            migrationBuilder.AddColumn<string>(
                name: "base_certainty",
                schema: "people",
                table: "instructors",
                type: "text",
                nullable: false,
                defaultValue: "Exact");

            migrationBuilder.CreateTable(
                name: "areas",
                schema: "places",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    name = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_areas", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "districts",
                schema: "places",
                columns: table => new
                {
                    district = table.Column<string>(type: "text", nullable: false),
                    latitude = table.Column<double>(type: "double precision", nullable: false),
                    longitude = table.Column<double>(type: "double precision", nullable: false),
                    postcodes = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_districts", x => x.district);
                });

            migrationBuilder.CreateTable(
                name: "places",
                schema: "pupils",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    at_address = table.Column<string>(type: "text", nullable: false),
                    at_certainty = table.Column<string>(type: "text", nullable: false),
                    at_label = table.Column<string>(type: "text", nullable: false),
                    at_latitude = table.Column<double>(type: "double precision", nullable: false),
                    at_longitude = table.Column<double>(type: "double precision", nullable: false),
                    at_postcode = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_places", x => x.id);
                    table.ForeignKey(
                        name: "fk_places_pupils_pupil_id",
                        column: x => x.pupil_id,
                        principalSchema: "pupils",
                        principalTable: "pupils",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "postcode_set",
                schema: "places",
                columns: table => new
                {
                    id = table.Column<int>(type: "integer", nullable: false),
                    name = table.Column<string>(type: "text", nullable: false),
                    loaded_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    postcodes = table.Column<int>(type: "integer", nullable: false),
                    roughly = table.Column<int>(type: "integer", nullable: false),
                    left_out = table.Column<int>(type: "integer", nullable: false),
                    districts = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_postcode_set", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "postcodes",
                schema: "places",
                columns: table => new
                {
                    postcode = table.Column<string>(type: "text", nullable: false),
                    latitude = table.Column<double>(type: "double precision", nullable: false),
                    longitude = table.Column<double>(type: "double precision", nullable: false),
                    quality = table.Column<short>(type: "smallint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_postcodes", x => x.postcode);
                });

            migrationBuilder.CreateTable(
                name: "school_places",
                schema: "places",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    kind = table.Column<string>(type: "text", nullable: false),
                    at_address = table.Column<string>(type: "text", nullable: false),
                    at_certainty = table.Column<string>(type: "text", nullable: false),
                    at_label = table.Column<string>(type: "text", nullable: false),
                    at_latitude = table.Column<double>(type: "double precision", nullable: false),
                    at_longitude = table.Column<double>(type: "double precision", nullable: false),
                    at_postcode = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_school_places", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "area_districts",
                schema: "places",
                columns: table => new
                {
                    district = table.Column<string>(type: "text", nullable: false),
                    area_id = table.Column<Guid>(type: "uuid", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("area_districts_once", x => x.district);
                    table.ForeignKey(
                        name: "fk_area_districts_areas_area_id",
                        column: x => x.area_id,
                        principalSchema: "places",
                        principalTable: "areas",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "ix_area_districts_area_id",
                schema: "places",
                table: "area_districts",
                column: "area_id");

            migrationBuilder.CreateIndex(
                name: "areas_name_once",
                schema: "places",
                table: "areas",
                column: "name",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "ix_places_pupil_id",
                schema: "pupils",
                table: "places",
                column: "pupil_id");

            // Only for the rows that stand.
            migrationBuilder.Sql("""
                ALTER TABLE diary.test_days ALTER COLUMN centre_certainty DROP DEFAULT;
                ALTER TABLE diary.test_days ALTER COLUMN pick_up_certainty DROP DEFAULT;
                ALTER TABLE pupils.pupils ALTER COLUMN pick_up_certainty DROP DEFAULT;
                ALTER TABLE diary.lessons ALTER COLUMN drop_off_certainty DROP DEFAULT;
                ALTER TABLE diary.lessons ALTER COLUMN pick_up_certainty DROP DEFAULT;
                ALTER TABLE people.instructors ALTER COLUMN base_certainty DROP DEFAULT;
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "area_districts",
                schema: "places");

            migrationBuilder.DropTable(
                name: "districts",
                schema: "places");

            migrationBuilder.DropTable(
                name: "places",
                schema: "pupils");

            migrationBuilder.DropTable(
                name: "postcode_set",
                schema: "places");

            migrationBuilder.DropTable(
                name: "postcodes",
                schema: "places");

            migrationBuilder.DropTable(
                name: "school_places",
                schema: "places");

            migrationBuilder.DropTable(
                name: "areas",
                schema: "places");

            migrationBuilder.DropColumn(
                name: "centre_certainty",
                schema: "diary",
                table: "test_days");

            migrationBuilder.DropColumn(
                name: "pick_up_certainty",
                schema: "diary",
                table: "test_days");

            migrationBuilder.DropColumn(
                name: "pick_up_certainty",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "drop_off_certainty",
                schema: "diary",
                table: "lessons");

            migrationBuilder.DropColumn(
                name: "pick_up_certainty",
                schema: "diary",
                table: "lessons");

            migrationBuilder.DropColumn(
                name: "base_certainty",
                schema: "people",
                table: "instructors");
        }
    }
}
