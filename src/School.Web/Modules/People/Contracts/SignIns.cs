using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People.Contracts;

internal enum SignInState
{
    NotInvited,
    Invited,
    SignsIn,
    Closed,
}

/// <summary>How it stands with somebody's sign-in.</summary>
/// <param name="PersonId">Whose sign-in.</param>
/// <param name="Email">Where letters go.</param>
/// <param name="Name">What they sign in with; empty while they are still to choose it.</param>
/// <param name="State">How far it is.</param>
/// <param name="LastSignIn">When they last did.</param>
internal sealed record SignInCard(Guid? PersonId, string Email, string Name, SignInState State, Instant? LastSignIn)
{
    public static readonly SignInCard None = new(null, "", "", SignInState.NotInvited, null);
}

/// <summary>Invites pupils and instructors, and tells and ends their sign-in, for the pages about them.</summary>
internal sealed class SignIns(SchoolDb db, InvitePerson invite, CloseSignIn close, ChangeHats hats)
{
    private const int MostShown = 20;

    public async Task<SignInCard> OfPupilAsync(Guid pupil, CancellationToken cancel) =>
        Card(await db.Set<Person>().AsNoTracking().SingleOrDefaultAsync(p => p.PupilId == pupil, cancel));

    public async Task<SignInCard> OfInstructorAsync(Guid instructor, CancellationToken cancel) =>
        Card(await db.Set<Person>().AsNoTracking().SingleOrDefaultAsync(p => p.InstructorId == instructor, cancel));

    public async Task<Outcome<SignInCard>> InvitePupilAsync(Viewer viewer, Guid pupil, string name, string email, CancellationToken cancel) =>
        Card(await invite.RunAsync(viewer, new(name, email, PupilId: pupil), cancel));

    public async Task<Outcome<SignInCard>> InviteInstructorAsync(Viewer viewer, Guid instructor, string name, string email, CancellationToken cancel) =>
        Card(await invite.RunAsync(viewer, new(name, email, InstructorId: instructor), cancel));

    public async Task<Outcome<SignInCard>> InviteContactAsync(Viewer viewer, ContactCard contact, CancellationToken cancel) =>
        Card(await invite.RunAsync(viewer, new(contact.Name, contact.Email, ContactId: contact.Id), cancel));

    /// <summary>How it stands with those of these contacts who were ever invited.</summary>
    public async Task<IReadOnlyDictionary<Guid, SignInCard>> OfContactsAsync(IReadOnlyCollection<Guid> contacts, CancellationToken cancel) => contacts.Count == 0
        ? new Dictionary<Guid, SignInCard>()
        : await db.Set<Person>().AsNoTracking().Where(p => p.ContactId != null && contacts.Contains(p.ContactId.Value)).ToDictionaryAsync(p => p.ContactId!.Value, Card, cancel);

    public async Task<Outcome<SignInCard>> CloseAsync(Viewer viewer, Guid person, CancellationToken cancel)
    {
        var closed = await close.RunAsync(viewer, person, cancel);
        return closed.Ok ? Card(closed.Value) : closed.Refusal;
    }

    /// <summary>Who signs in and has this address, and is no pupil yet: one of them may be the pupil who has it.</summary>
    public async Task<IReadOnlyList<SignInCard>> NoPupilsOfAsync(string email, CancellationToken cancel)
    {
        var form = SignInNames.FormOf(email);
        return email.Length == 0 ? [] : (await db.Set<Person>().AsNoTracking().Where(p => p.NormalizedEmail == form && p.PupilId == null && !p.Closed)
            .OrderBy(p => p.Name).ThenBy(p => p.Id).Take(MostShown).ToListAsync(cancel)).ConvertAll(Card);
    }

    /// <summary>Gives somebody the hat of this pupil beside those that they wear.</summary>
    public async Task<Outcome<SignInCard>> BePupilAsync(Viewer viewer, Guid person, Guid pupil, CancellationToken cancel)
    {
        if (await db.Set<Person>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == person && p.PupilId == null, cancel) is not { } now)
        {
            return Refusal.NotFound("sign-in");
        }

        var changed = await hats.RunAsync(viewer, person, new(now.Parts.List(), now.InstructorId, pupil, now.ContactId), now.HatsVersion, cancel);
        return changed.Ok ? Card(changed.Value) : changed.Refusal;
    }

    /// <summary>Whoever leaves as a pupil keeps what else they are; who is nothing else cannot sign in any more.</summary>
    public Task<Refusal?> TakeOffAsync(Viewer viewer, Guid person, Hat hat, CancellationToken cancel) => hats.TakeOffAsync(viewer, person, hat, cancel);

    private static Outcome<SignInCard> Card(Outcome<Invited> invited) => invited.Ok ? Card(invited.Value.Person) : invited.Refusal;

    internal static SignInCard Card(Person? person) => person is null
        ? SignInCard.None
        : new(person.Id, person.Email!, person.UserName ?? "", person.Closed ? SignInState.Closed : person.PasswordHash is null ? SignInState.Invited : SignInState.SignsIn, person.LastSignIn);
}
