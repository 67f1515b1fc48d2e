using System;
using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    internal partial class ChargesToProposals
    {
        /// <summary>Letters are kept as facts; what was kept as finished words goes on saying just those.</summary>
        private static void Letters(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>("receiver", "messages", "text", schema: "messages", nullable: false, defaultValue: "Person");
            migrationBuilder.AddColumn<Guid>("receiver_id", "messages", "uuid", schema: "messages", nullable: false, defaultValue: Guid.Empty);
            migrationBuilder.AddColumn<string>("content", "messages", "jsonb", schema: "messages", nullable: false, defaultValue: "{}");
            migrationBuilder.Sql(
                """
                UPDATE messages.messages SET
                    receiver_id = coalesce(to_person_id, '00000000-0000-0000-0000-000000000000'),
                    content = jsonb_build_object(
                        'facts', jsonb_build_array(
                            jsonb_build_object('name', 'typed_subject', 'text', subject),
                            jsonb_build_object('name', 'typed_text', 'text', text)),
                        'acts', '[]'::jsonb);
                ALTER TABLE messages.messages
                    ALTER COLUMN receiver DROP DEFAULT, ALTER COLUMN receiver_id DROP DEFAULT, ALTER COLUMN content DROP DEFAULT;
                """);
            migrationBuilder.DropColumn("subject", "messages", "messages");
            migrationBuilder.DropColumn("text", "messages", "messages");
            migrationBuilder.DropColumn("html", "messages", "messages");
            migrationBuilder.DropColumn("to_person_id", "messages", "messages");
        }
    }
}
