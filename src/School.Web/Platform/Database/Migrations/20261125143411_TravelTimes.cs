using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class TravelTimes : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "drives",
                schema: "travel",
                columns: table => new
                {
                    from_cell = table.Column<long>(type: "bigint", nullable: false),
                    to_cell = table.Column<long>(type: "bigint", nullable: false),
                    seconds = table.Column<double>(type: "double precision", nullable: true),
                    metres = table.Column<double>(type: "double precision", nullable: true),
                    asked_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_drives", x => new { x.from_cell, x.to_cell });
                });

            migrationBuilder.CreateTable(
                name: "legs",
                schema: "travel",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    instructor_id = table.Column<Guid>(type: "uuid", nullable: false),
                    from_label = table.Column<string>(type: "text", nullable: false),
                    from_latitude = table.Column<double>(type: "double precision", nullable: false),
                    from_longitude = table.Column<double>(type: "double precision", nullable: false),
                    to_label = table.Column<string>(type: "text", nullable: false),
                    to_latitude = table.Column<double>(type: "double precision", nullable: false),
                    to_longitude = table.Column<double>(type: "double precision", nullable: false),
                    left_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    arrived_at = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_legs", x => x.id);
                    table.CheckConstraint("legs_arrived_after_left", "arrived_at > left_at");
                });

            migrationBuilder.CreateTable(
                name: "routing_health",
                schema: "travel",
                columns: table => new
                {
                    id = table.Column<int>(type: "integer", nullable: false),
                    failures = table.Column<int>(type: "integer", nullable: false),
                    failing_since = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    reason = table.Column<string>(type: "text", nullable: false),
                    paused_until = table.Column<Instant>(type: "timestamp with time zone", nullable: true),
                    trial_from = table.Column<long>(type: "bigint", nullable: false),
                    trial_to = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_routing_health", x => x.id);
                });

            migrationBuilder.CreateIndex(
                name: "ix_drives_asked_at",
                schema: "travel",
                table: "drives",
                column: "asked_at");

            migrationBuilder.CreateIndex(
                name: "ix_legs_instructor_id_left_at",
                schema: "travel",
                table: "legs",
                columns: new[] { "instructor_id", "left_at" });

            migrationBuilder.CreateIndex(
                name: "ix_legs_left_at",
                schema: "travel",
                table: "legs",
                column: "left_at");

            migrationBuilder.CreateIndex(
                name: "legs_one_under_way",
                schema: "travel",
                table: "legs",
                column: "instructor_id",
                unique: true,
                filter: "arrived_at IS NULL");

            migrationBuilder.Sql(
                """
                ALTER TABLE travel.legs ADD CONSTRAINT legs_instructor_fk FOREIGN KEY (instructor_id) REFERENCES people.instructors (id);
                ALTER TABLE travel.legs ADD CONSTRAINT legs_instructor_once
                    EXCLUDE USING gist (instructor_id WITH =, tstzrange(left_at, arrived_at) WITH &&) WHERE (arrived_at IS NOT NULL);
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "drives",
                schema: "travel");

            migrationBuilder.DropTable(
                name: "legs",
                schema: "travel");

            migrationBuilder.DropTable(
                name: "routing_health",
                schema: "travel");
        }
    }
}
