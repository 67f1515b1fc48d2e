using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>Ends somebody's sign-in, cookies and tokens included; inviting them again opens it anew.</summary>
internal sealed class CloseSignIn(SchoolDb db, UserManager<Person> people, Outbox outbox, Audit audit)
{
    public Task<Outcome<Person>> RunAsync(Viewer viewer, Guid id, CancellationToken cancel) => db.InTransactionAsync<Person>(
        async cancel =>
        {
            await db.LockAsync([SettingsHolders.Lock], cancel);
            if (await db.Set<Person>().SingleOrDefaultAsync(p => p.Id == id, cancel) is not { } person)
            {
                return Refusal.NotFound("person");
            }

            if (person.Id == viewer.PersonId)
            {
                return Refusal.Rule("own_sign_in", "You cannot close your own sign-in. Ask somebody else of the office.");
            }

            if (person.Parts != OfficeParts.None && !viewer.May(Permission.GiveHats))
            {
                return InvitePerson.NotTheirs;
            }

            if (person.Parts.Holds(OfficePart.Settings) && !await db.OtherSettingsHolderAsync(id, cancel))
            {
                return SettingsHolders.Last;
            }

            person.Closed = true;
            await outbox.WithdrawAsync(person.Id, [InvitePerson.MessageKind, WriteResetLetters.MessageKind], cancel);
            audit.Note(viewer, "person.close", person.Id, $"Closed the sign-in of {WornHats.Of(person).Called(person.Name)}.");
            return (await people.UpdateSecurityStampAsync(person)).ToRefusal("Email") is { } refusal ? refusal : person;
        },
        cancel);
}
