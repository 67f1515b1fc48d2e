using System;
using System.Collections.Generic;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class ServedAreas : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<bool>(
                name: "only_in_served_areas",
                schema: "diary",
                table: "settings",
                type: "boolean",
                nullable: false,
                defaultValue: false);

            migrationBuilder.AddColumn<List<Guid>>(
                name: "serves",
                schema: "people",
                table: "instructors",
                type: "uuid[]",
                nullable: false,
                defaultValueSql: "'{}'");

            migrationBuilder.CreateTable(
                name: "shared_forecasts",
                schema: "syllabus",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    sentence = table.Column<string>(type: "text", nullable: false),
                    by_person_id = table.Column<Guid>(type: "uuid", nullable: false),
                    by_name = table.Column<string>(type: "text", nullable: false),
                    shared_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_shared_forecasts", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "supervised_days",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: false),
                    date = table.Column<LocalDate>(type: "date", nullable: false),
                    minutes = table.Column<int>(type: "integer", nullable: false),
                    by_name = table.Column<string>(type: "text", nullable: false),
                    by_number = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_supervised_days", x => x.id);
                    table.CheckConstraint("supervised_days_minutes", "minutes BETWEEN 1 AND 720");
                });

            migrationBuilder.CreateIndex(
                name: "ix_shared_forecasts_pupil_id",
                schema: "syllabus",
                table: "shared_forecasts",
                column: "pupil_id",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "ix_supervised_days_instructor_id_date",
                schema: "diary",
                table: "supervised_days",
                columns: new[] { "instructor_id", "date" },
                unique: true);

            migrationBuilder.Sql("""
                ALTER TABLE diary.supervised_days ADD CONSTRAINT supervised_days_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
                ALTER TABLE syllabus.shared_forecasts ADD CONSTRAINT shared_forecasts_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
                CREATE INDEX lessons_to_be_found ON diary.lessons (starts_at) WHERE pick_up_certainty = 'ToBeFound' OR drop_off_certainty = 'ToBeFound';
                CREATE CONSTRAINT TRIGGER areas_raise_version AFTER INSERT OR DELETE OR UPDATE ON places.areas
                    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();
                CREATE CONSTRAINT TRIGGER area_districts_raise_version AFTER INSERT OR DELETE OR UPDATE ON places.area_districts
                    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION diary.school_changed();
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.Sql("""
                DROP TRIGGER areas_raise_version ON places.areas;
                DROP TRIGGER area_districts_raise_version ON places.area_districts;
                DROP INDEX diary.lessons_to_be_found;
                """);

            migrationBuilder.DropTable(
                name: "shared_forecasts",
                schema: "syllabus");

            migrationBuilder.DropTable(
                name: "supervised_days",
                schema: "diary");

            migrationBuilder.DropColumn(
                name: "only_in_served_areas",
                schema: "diary",
                table: "settings");

            migrationBuilder.DropColumn(
                name: "serves",
                schema: "people",
                table: "instructors");
        }
    }
}
