using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.People;

internal sealed record Invitee(string? Name, string? Email, Role Role, Guid? InstructorId = null, Guid? PupilId = null);

internal sealed record Invited(Person Person, string Link);

/// <summary>
/// Invites somebody to sign in: a link by e-mail, good for seven days and once. Inviting again ends the link before; inviting
/// somebody whose sign-in was closed opens it anew, with a new password and without the old second step.
/// </summary>
internal sealed class InvitePerson(
    SchoolDb db, UserManager<Person> people, Outbox outbox, Audit audit, PublicUrl url, IClock clock)
{
    public const string MessageKind = SignInMessages.Invitation;
    public const int LongestName = 80;

    public Task<Outcome<Invited>> RunAsync(Viewer viewer, Invitee invitee, CancellationToken cancel) => db.InTransactionAsync<Invited>(
        async cancel =>
        {
            var errors = new FieldErrors();
            var name = errors.ReadLine("Name", invitee.Name, LongestName, "Enter a name.");
            var email = errors.ReadEmail("Email", invitee.Email);
            if (errors.ToRefusal() is { } refusal)
            {
                return refusal;
            }

            var known = await FindAsync(invitee, email, cancel);
            if (known is { PasswordHash: not null, Closed: false })
            {
                return Refusal.Conflict("signs_in_already", $"{known.Name} signs in already, as {known.Email}. Forgotten passwords are renewed on the sign-in page.");
            }

            var person = known ?? new Person
            {
                Id = RowId.New(),
                Name = name,
                Role = invitee.Role,
                InstructorId = invitee.InstructorId,
                PupilId = invitee.PupilId,
            };
            (person.Name, person.Email, person.UserName) = (name, email, email);
            if ((known is null ? await people.CreateAsync(person) : await StartAnewAsync(person)).ToRefusal("Email") is { } clash)
            {
                return clash;
            }

            var path = await LinkAsync(person);
            await outbox.WithdrawAsync(person.Id, [MessageKind], cancel);
            await outbox.WriteAsync(
                new(MessageKind, $"{MessageKind}:{person.Id}:{person.SecurityStamp}", person.Id, Receiver.Person(person.Id), [])
                {
                    Acts = [new(SignInWording.Open, path)],
                    UselessAt = clock.GetCurrentInstant() + LinkTokens.InvitationLifetime,
                },
                cancel);
            audit.Note(viewer, "person.invite", person.Id, $"Invited {(person.PupilId is null ? person.Name : "a pupil")} to sign in.");
            return new Invited(person, url.Of(path));
        },
        cancel);

    private Task<Person?> FindAsync(Invitee invitee, string email, CancellationToken cancel)
    {
        var set = db.Set<Person>();
        var normal = people.NormalizeEmail(email);
        return invitee switch
        {
            { InstructorId: { } instructor } => set.SingleOrDefaultAsync(p => p.InstructorId == instructor, cancel),
            { PupilId: { } pupil } => set.SingleOrDefaultAsync(p => p.PupilId == pupil, cancel),
            _ => set.SingleOrDefaultAsync(p => p.NormalizedEmail == normal && p.Role == Role.Office, cancel),
        };
    }

    /// <summary>The new stamp ends every link, cookie and token from before.</summary>
    private async Task<IdentityResult> StartAnewAsync(Person person)
    {
        (person.Closed, person.PasswordHash, person.TwoFactorEnabled) = (false, null, false);
        return await people.UpdateSecurityStampAsync(person);
    }

    private async Task<string> LinkAsync(Person person)
    {
        var token = await people.GenerateUserTokenAsync(person, LinkTokens.Provider, LinkTokens.Invitation);
        return $"/people/accept?person={person.Id}&token={Uri.EscapeDataString(token)}";
    }
}
