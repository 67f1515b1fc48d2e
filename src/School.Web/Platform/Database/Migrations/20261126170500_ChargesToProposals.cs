using System;
using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <summary>What came in one step: charges by code, sessions, keys of their own, letters as data, proposals.</summary>
    internal partial class ChargesToProposals : Migration
    {
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            Charges(migrationBuilder);
            Sessions(migrationBuilder);
            Keys(migrationBuilder);
            Letters(migrationBuilder);
            Proposals(migrationBuilder);
        }

        protected override void Down(MigrationBuilder migrationBuilder) =>
            throw new NotSupportedException("The finished words of letters are not kept any more. Restore the backup that was made before.");
    }
}
