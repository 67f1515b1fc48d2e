using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.People;

/// <summary>Changes the name by which somebody is greeted and stands in the audit.</summary>
internal sealed class ChangeOwnName(SchoolDb db, UserManager<Person> people)
{
    public Task<Outcome<Viewer>> RunAsync(Viewer viewer, string? typed, CancellationToken cancel) => db.InTransactionAsync<Viewer>(
        async cancel =>
        {
            var errors = new FieldErrors();
            var name = errors.ReadLine("Name", typed, InvitePerson.LongestName, "Enter your name.");
            if (errors.ToRefusal() is { } refusal)
            {
                return refusal;
            }

            var person = await db.Set<Person>().SingleAsync(p => p.Id == viewer.PersonId, cancel);
            person.Name = name;
            return (await people.UpdateAsync(person)).ToRefusal("Name") is { } clash ? clash : viewer with { Name = name };
        },
        cancel);
}
