using System;
using System.IO;
using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <summary>What counts the changes of a day tells of them too.</summary>
    internal partial class ChangesTold : Migration
    {
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            using var stream = typeof(ChangesTold).Assembly.GetManifestResourceStream("20261128011900_ChangesTold.sql");
            using var reader = new StreamReader(stream);
            migrationBuilder.Sql(reader.ReadToEnd());
        }

        protected override void Down(MigrationBuilder migrationBuilder) =>
            throw new NotSupportedException("Restore the backup that was made before.");
    }
}
