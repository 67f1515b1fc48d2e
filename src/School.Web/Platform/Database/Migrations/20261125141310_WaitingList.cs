using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class WaitingList : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "freed_slots",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: false),
                    starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    ends_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    freed_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    freed_by_pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    state = table.Column<string>(type: "text", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_freed_slots", x => x.id);
                    table.CheckConstraint("freed_slots_end_after_start", "ends_at > starts_at");
                });

            migrationBuilder.CreateTable(
                name: "waiting",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    @for = table.Column<string>(name: "for", type: "text", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: true),
                    from = table.Column<LocalDate>(type: "date", nullable: true),
                    to = table.Column<LocalDate>(type: "date", nullable: true),
                    since = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    state = table.Column<string>(type: "text", nullable: false),
                    closed_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_waiting", x => x.id);
                    table.CheckConstraint("waiting_days", "(\"for\" = 'AnyLesson') = (\"from\" IS NOT NULL) AND \"from\" <= \"to\"");
                });

            migrationBuilder.CreateTable(
                name: "waiting_settings",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    held_minutes = table.Column<int>(type: "integer", nullable: false),
                    at_once = table.Column<int>(type: "integer", nullable: false),
                    lead_minutes = table.Column<int>(type: "integer", nullable: false),
                    lately_days = table.Column<int>(type: "integer", nullable: false),
                    order = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_waiting_settings", x => x.id);
                });

            migrationBuilder.CreateTable(
                name: "offers",
                schema: "diary",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    freed_id = table.Column<Guid>(type: "uuid", nullable: false),
                    waiting_id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: false),
                    starts_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    minutes = table.Column<int>(type: "integer", nullable: false),
                    instead_of_id = table.Column<Guid>(type: "uuid", nullable: true),
                    offered_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    held_until = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    state = table.Column<string>(type: "text", nullable: false),
                    answered_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    lesson_id = table.Column<Guid>(type: "uuid", nullable: true),
                    secret_hash = table.Column<byte[]>(type: "bytea", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_offers", x => x.id);
                    table.ForeignKey(
                        name: "fk_offers_freed_slots_freed_id",
                        column: x => x.freed_id,
                        principalSchema: "diary",
                        principalTable: "freed_slots",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                    table.ForeignKey(
                        name: "fk_offers_waiting_entry_waiting_id",
                        column: x => x.waiting_id,
                        principalSchema: "diary",
                        principalTable: "waiting",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "ix_freed_slots_starts_at",
                schema: "diary",
                table: "freed_slots",
                column: "starts_at",
                filter: "state = 'Offering'");

            migrationBuilder.CreateIndex(
                name: "ix_offers_pupil_id",
                schema: "diary",
                table: "offers",
                column: "pupil_id");

            migrationBuilder.CreateIndex(
                name: "ix_offers_waiting_id",
                schema: "diary",
                table: "offers",
                column: "waiting_id");

            migrationBuilder.CreateIndex(
                name: "offers_once",
                schema: "diary",
                table: "offers",
                columns: new[] { "freed_id", "waiting_id" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "offers_one_accepted",
                schema: "diary",
                table: "offers",
                column: "freed_id",
                unique: true,
                filter: "state = 'Accepted'");

            migrationBuilder.CreateIndex(
                name: "waiting_once",
                schema: "diary",
                table: "waiting",
                columns: new[] { "pupil_id", "for" },
                unique: true,
                filter: "state = 'Waiting'");

            migrationBuilder.Sql(
                """
                ALTER TABLE diary.waiting ADD CONSTRAINT waiting_pupil_fk FOREIGN KEY (pupil_id) REFERENCES pupils.pupils (id);
                ALTER TABLE diary.waiting ADD CONSTRAINT waiting_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
                ALTER TABLE diary.freed_slots ADD CONSTRAINT freed_slots_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
                ALTER TABLE diary.offers ADD CONSTRAINT offers_lesson_fk FOREIGN KEY (lesson_id) REFERENCES diary.lessons (id);
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "offers",
                schema: "diary");

            migrationBuilder.DropTable(
                name: "waiting_settings",
                schema: "diary");

            migrationBuilder.DropTable(
                name: "freed_slots",
                schema: "diary");

            migrationBuilder.DropTable(
                name: "waiting",
                schema: "diary");
        }
    }
}
