using Microsoft.EntityFrameworkCore;
using NodaTime;
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
internal sealed record SignInCard(Guid? PersonId, string Email, SignInState State, Instant? LastSignIn)
{
    public static readonly SignInCard None = new(null, "", SignInState.NotInvited, null);
}

/// <summary>Invites pupils and instructors, and tells and ends their sign-in, for the pages about them.</summary>
internal sealed class SignIns(SchoolDb db, InvitePerson invite, CloseSignIn close)
{
    public async Task<SignInCard> OfPupilAsync(Guid pupil, CancellationToken cancel) =>
        Card(await db.Set<Person>().AsNoTracking().SingleOrDefaultAsync(p => p.PupilId == pupil, cancel));

    public async Task<SignInCard> OfInstructorAsync(Guid instructor, CancellationToken cancel) =>
        Card(await db.Set<Person>().AsNoTracking().SingleOrDefaultAsync(p => p.InstructorId == instructor, cancel));

    public async Task<Outcome<SignInCard>> InvitePupilAsync(Viewer viewer, Guid pupil, string name, string email, CancellationToken cancel) =>
        Card(await invite.RunAsync(viewer, new(name, email, Role.Pupil, PupilId: pupil), cancel));

    public async Task<Outcome<SignInCard>> InviteInstructorAsync(Viewer viewer, Guid instructor, string name, string email, CancellationToken cancel) =>
        Card(await invite.RunAsync(viewer, new(name, email, Role.Instructor, InstructorId: instructor), cancel));

    public async Task<Outcome<SignInCard>> CloseAsync(Viewer viewer, Guid person, CancellationToken cancel)
    {
        var closed = await close.RunAsync(viewer, person, cancel);
        return closed.Ok ? Card(closed.Value) : closed.Refusal;
    }

    private static Outcome<SignInCard> Card(Outcome<Invited> invited) => invited.Ok ? Card(invited.Value.Person) : invited.Refusal;

    internal static SignInCard Card(Person? person) => person is null
        ? SignInCard.None
        : new(person.Id, person.Email!, person.Closed ? SignInState.Closed : person.PasswordHash is null ? SignInState.Invited : SignInState.SignsIn, person.LastSignIn);
}
