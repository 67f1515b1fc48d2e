using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class Covers : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "covers",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: true),
                    car_id = table.Column<Guid>(type: "uuid", nullable: true),
                    starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    ends_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    reason = table.Column<string>(type: "text", nullable: false),
                    may_move_minutes = table.Column<int>(type: "integer", nullable: false),
                    asked_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    state = table.Column<string>(type: "text", nullable: false),
                    done = table.Column<int>(type: "integer", nullable: false),
                    of = table.Column<int>(type: "integer", nullable: false),
                    answer = table.Column<string>(type: "text", nullable: true),
                    seen = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_covers", x => x.id);
                    table.CheckConstraint("covers_end_after_start", "ends_at > starts_at");
                    table.CheckConstraint("covers_for_one", "(instructor_id IS NULL) <> (car_id IS NULL)");
                });

            migrationBuilder.CreateIndex(
                name: "ix_covers_asked_at",
                schema: "diary",
                table: "covers",
                column: "asked_at");
            migrationBuilder.Sql("ALTER TABLE diary.covers ADD CONSTRAINT covers_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id)");
            migrationBuilder.Sql("ALTER TABLE diary.covers ADD CONSTRAINT covers_car_fk FOREIGN KEY (car_id) REFERENCES cars.cars (id)");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "covers",
                schema: "diary");
        }
    }
}
