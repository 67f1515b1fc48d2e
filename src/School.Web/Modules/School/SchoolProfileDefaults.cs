using Microsoft.EntityFrameworkCore;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.School;

internal sealed class SchoolProfileDefaults(IConfiguration configuration) : IModuleDefaults
{
    public async Task AddMissingAsync(SchoolDb db, CancellationToken cancel)
    {
        if (!await db.Set<SchoolProfile>().AnyAsync(cancel))
        {
            db.Add(new SchoolProfile
            {
                Id = SchoolProfile.Only,
                Name = configuration["School:Name"] ?? SchoolFacts.Unnamed,
                Phone = configuration["School:Phone"] ?? "",
                Email = configuration["School:Email"] ?? "",
                Zone = configuration["School:Zone"] ?? "Europe/London",
                Nation = configuration["School:Nation"] ?? "england-and-wales",
            });
        }
    }
}
