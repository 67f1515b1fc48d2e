using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class Hats : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "people_email_once",
                schema: "people",
                table: "people");

            migrationBuilder.DropIndex(
                name: "people_of_the_staff",
                schema: "people",
                table: "people");

            migrationBuilder.Sql("ALTER TABLE people.people DROP CONSTRAINT people_role_link;");

            migrationBuilder.AddColumn<int>(
                name: "hats_version",
                schema: "people",
                table: "people",
                type: "integer",
                nullable: false,
                defaultValue: 1);

            migrationBuilder.AddColumn<int>(
                name: "parts",
                schema: "people",
                table: "people",
                type: "integer",
                nullable: false,
                defaultValue: 0);

            // Who is of the office today sees and changes everything, and goes on to.
            migrationBuilder.Sql("UPDATE people.people SET parts = 31 WHERE role = 'Office';");

            migrationBuilder.DropColumn(
                name: "role",
                schema: "people",
                table: "people");

            migrationBuilder.CreateIndex(
                name: "people_email",
                schema: "people",
                table: "people",
                column: "normalized_email");

            migrationBuilder.CreateIndex(
                name: "people_of_the_office",
                schema: "people",
                table: "people",
                column: "name",
                filter: "parts <> 0");

            migrationBuilder.Sql("""
                ALTER TABLE people.people ALTER COLUMN parts DROP DEFAULT;
                ALTER TABLE people.people ADD CONSTRAINT people_wear_a_hat CHECK (parts <> 0 OR instructor_id IS NOT NULL OR pupil_id IS NOT NULL);
                ALTER TABLE people.people ADD CONSTRAINT people_parts_known CHECK (parts BETWEEN 0 AND 31);
                CREATE INDEX people_user_name_look ON people.people (replace(translate(normalized_user_name, '01I', 'OLL'), 'M', 'RN'));
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.Sql("""
                DROP INDEX people.people_user_name_look;
                ALTER TABLE people.people DROP CONSTRAINT people_wear_a_hat, DROP CONSTRAINT people_parts_known;
                """);

            migrationBuilder.DropIndex(
                name: "people_email",
                schema: "people",
                table: "people");

            migrationBuilder.DropIndex(
                name: "people_of_the_office",
                schema: "people",
                table: "people");

            migrationBuilder.AddColumn<string>(
                name: "role",
                schema: "people",
                table: "people",
                type: "text",
                nullable: false,
                defaultValue: "");

            // Who wears several hats keeps the one that opens most.
            migrationBuilder.Sql("""
                UPDATE people.people SET role = CASE WHEN parts <> 0 THEN 'Office' WHEN instructor_id IS NOT NULL THEN 'Instructor' ELSE 'Pupil' END;
                UPDATE people.people SET instructor_id = NULL WHERE role <> 'Instructor';
                UPDATE people.people SET pupil_id = NULL WHERE role <> 'Pupil';
                ALTER TABLE people.people ADD CONSTRAINT people_role_link CHECK (
                    (role = 'Instructor') = (instructor_id IS NOT NULL) AND (role = 'Pupil') = (pupil_id IS NOT NULL));
                """);

            migrationBuilder.DropColumn(
                name: "hats_version",
                schema: "people",
                table: "people");

            migrationBuilder.DropColumn(
                name: "parts",
                schema: "people",
                table: "people");

            migrationBuilder.CreateIndex(
                name: "people_email_once",
                schema: "people",
                table: "people",
                column: "normalized_email",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "people_of_the_staff",
                schema: "people",
                table: "people",
                column: "role",
                filter: "role <> 'Pupil'");
        }
    }
}
