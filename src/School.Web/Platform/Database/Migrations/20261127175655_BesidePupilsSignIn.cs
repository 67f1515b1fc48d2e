using System;
using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class BesidePupilsSignIn : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<Guid>(
                name: "contact_id",
                schema: "people",
                table: "people",
                type: "uuid",
                nullable: true);

            migrationBuilder.CreateIndex(
                name: "ix_people_contact_id",
                schema: "people",
                table: "people",
                column: "contact_id",
                unique: true);

            migrationBuilder.AddForeignKey(
                name: "fk_people_contacts_contact_id",
                schema: "people",
                table: "people",
                column: "contact_id",
                principalSchema: "people",
                principalTable: "contacts",
                principalColumn: "id",
                onDelete: ReferentialAction.Restrict);

            migrationBuilder.Sql(
                """
                ALTER TABLE people.people DROP CONSTRAINT people_wear_a_hat;
                ALTER TABLE people.people ADD CONSTRAINT people_wear_a_hat
                    CHECK (parts <> 0 OR instructor_id IS NOT NULL OR pupil_id IS NOT NULL OR contact_id IS NOT NULL OR closed);
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            // Whoever wears no other hat than the new one cannot be kept by the rule of before.
            migrationBuilder.Sql(
                """
                DELETE FROM people.api_tokens t USING people.people p WHERE t.person_id = p.id AND p.parts = 0 AND p.instructor_id IS NULL AND p.pupil_id IS NULL;
                DELETE FROM people.people WHERE parts = 0 AND instructor_id IS NULL AND pupil_id IS NULL;
                ALTER TABLE people.people DROP CONSTRAINT people_wear_a_hat;
                ALTER TABLE people.people ADD CONSTRAINT people_wear_a_hat CHECK (parts <> 0 OR instructor_id IS NOT NULL OR pupil_id IS NOT NULL);
                """);

            migrationBuilder.DropForeignKey(
                name: "fk_people_contacts_contact_id",
                schema: "people",
                table: "people");

            migrationBuilder.DropIndex(
                name: "ix_people_contact_id",
                schema: "people",
                table: "people");

            migrationBuilder.DropColumn(
                name: "contact_id",
                schema: "people",
                table: "people");
        }
    }
}
