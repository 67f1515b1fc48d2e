using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class NamesThatLookAlike : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder) => migrationBuilder.Sql("""
            DROP INDEX people.people_user_name_look;
            CREATE INDEX people_user_name_look ON people.people (replace(replace(translate(normalized_user_name, '01I-_', 'OLL..'), 'M', 'RN'), 'W', 'VV'));
            """);

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder) => migrationBuilder.Sql("""
            DROP INDEX people.people_user_name_look;
            CREATE INDEX people_user_name_look ON people.people (replace(translate(normalized_user_name, '01I', 'OLL'), 'M', 'RN'));
            """);
    }
}
