using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    internal partial class ChargesToProposals
    {
        /// <summary>Guarded columns have keys of their own.</summary>
        private static void Keys(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "sealing_keys",
                schema: "platform",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    made_at = table.Column<Instant>(type: "timestamp with time zone", nullable: false),
                    wrapped_by = table.Column<string>(type: "text", nullable: true),
                    key = table.Column<byte[]>(type: "bytea", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_sealing_keys", x => x.id);
                });
        }
    }
}
