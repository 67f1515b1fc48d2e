using System;
using System.Collections.Generic;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class PrivatePractice : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "private_practice",
                schema: "syllabus",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    on = table.Column<LocalDate>(type: "date", nullable: false),
                    minutes = table.Column<int>(type: "integer", nullable: false),
                    conditions = table.Column<string[]>(type: "text[]", nullable: false),
                    supervisor = table.Column<string>(type: "text", nullable: false),
                    skills = table.Column<List<string>>(type: "text[]", nullable: false),
                    edition = table.Column<int>(type: "integer", nullable: false),
                    logged_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    logged_by = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_private_practice", x => x.id);
                    table.CheckConstraint("private_practice_minutes", "minutes BETWEEN 1 AND 600");
                });

            migrationBuilder.CreateIndex(
                name: "ix_private_practice_pupil_id_on",
                schema: "syllabus",
                table: "private_practice",
                columns: new[] { "pupil_id", "on" });

            migrationBuilder.Sql(
                "ALTER TABLE syllabus.private_practice ADD CONSTRAINT private_practice_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);\n"
                + "ALTER TABLE syllabus.private_practice ADD CONSTRAINT private_practice_edition_fk FOREIGN KEY (edition) REFERENCES syllabus.editions (number);");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "private_practice",
                schema: "syllabus");
        }
    }
}
