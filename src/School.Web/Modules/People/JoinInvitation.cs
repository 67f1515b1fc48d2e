using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>
/// Somebody who signs in already takes the invitation to stand beside pupils into that sign-in, by the link of its letter, which is used up: one
/// person, one sign-in.
/// </summary>
internal sealed class JoinInvitation(SchoolDb db, AcceptInvitation accept, ChangeHats hats, Outbox outbox, Audit audit)
{
    private static readonly Refusal OwnSignIn = Refusal.Rule(
        "invitation_of_its_own", "This invitation is for more than standing beside a pupil. Choose a password for it, or ask the office.");

    private static readonly Refusal Already = Refusal.Rule(
        "beside_already", "With this sign-in you stand beside pupils already, under another entry of the school's. Ask the office to make one of the two, or choose a password for this one.");

    public Task<Outcome<Person>> RunAsync(Viewer viewer, Guid id, string? token, CancellationToken cancel) => db.InTransactionAsync<Person>(
        async cancel =>
        {
            await db.LockAsync([SettingsHolders.Lock, SignInNames.Lock], cancel);
            if (await accept.WhomAsync(id, token, cancel) is null || viewer.PersonId == id)
            {
                return AcceptInvitation.TooOld;
            }

            var (invited, own) = (await db.Set<Person>().SingleAsync(p => p.Id == id, cancel), await db.Set<Person>().SingleAsync(p => p.Id == viewer.PersonId, cancel));
            if (invited is not { ContactId: { } contact, IsStaff: false, PupilId: null })
            {
                return OwnSignIn;
            }

            if (own.ContactId is not null)
            {
                return Already;
            }

            await outbox.WithdrawAsync(id, [InvitePerson.MessageKind], cancel);
            invited.Forget();
            audit.Note(viewer, "person.join", viewer.PersonId, "Took an invitation to stand beside pupils into their own sign-in.");
            return await hats.StandBesideAsync(viewer, viewer.PersonId, contact, cancel) is { } refusal ? refusal : own;
        },
        cancel);
}
