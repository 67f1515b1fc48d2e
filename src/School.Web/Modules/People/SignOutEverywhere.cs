using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.People;

/// <summary>Ends every cookie and token of a person; cookies on other devices within a minute.</summary>
internal sealed class SignOutEverywhere(SchoolDb db, UserManager<Person> people, IClock clock)
{
    public async Task RunAsync(Person person, CancellationToken cancel)
    {
        await people.UpdateSecurityStampAsync(person);
        var now = clock.GetCurrentInstant();
        await db.Set<ApiToken>().Where(t => t.PersonId == person.Id && t.RevokedAt == null)
            .ExecuteUpdateAsync(set => set.SetProperty(t => t.RevokedAt, now), cancel);
    }
}
