using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class KindsOfLesson : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "kinds",
                schema: "diary",
                table: "settings",
                type: "jsonb",
                nullable: false,
                defaultValueSql: "'[]'");

            migrationBuilder.AddColumn<int>(
                name: "break_minutes",
                schema: "diary",
                table: "lessons",
                type: "integer",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<string>(
                name: "breaks",
                schema: "diary",
                table: "lessons",
                type: "text",
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<string>(
                name: "kind",
                schema: "diary",
                table: "lessons",
                type: "text",
                nullable: false,
                defaultValue: "Standard");

            migrationBuilder.AddCheckConstraint(
                name: "lessons_breaks_within",
                schema: "diary",
                table: "lessons",
                sql: "break_minutes >= 0 AND starts_at + make_interval(mins => break_minutes) < ends_at AND (breaks = '') = (break_minutes = 0)");

            // What the school calls its kinds of lesson stands in the titles of feeds.
            migrationBuilder.Sql("""
                CREATE CONSTRAINT TRIGGER settings_raise_feeds AFTER UPDATE ON diary.settings
                    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION calendars.name_changed();
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.Sql("DROP TRIGGER settings_raise_feeds ON diary.settings;");

            migrationBuilder.DropCheckConstraint(
                name: "lessons_breaks_within",
                schema: "diary",
                table: "lessons");

            migrationBuilder.DropColumn(
                name: "kinds",
                schema: "diary",
                table: "settings");

            migrationBuilder.DropColumn(
                name: "break_minutes",
                schema: "diary",
                table: "lessons");

            migrationBuilder.DropColumn(
                name: "breaks",
                schema: "diary",
                table: "lessons");

            migrationBuilder.DropColumn(
                name: "kind",
                schema: "diary",
                table: "lessons");
        }
    }
}
