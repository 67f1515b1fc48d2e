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

/// <summary>Who is invited, and with which hat: parts of the office, or whom they are linked to.</summary>
internal sealed record Invitee(string? Name, string? Email, OfficeParts Parts = OfficeParts.None, Guid? InstructorId = null, Guid? PupilId = null, Guid? ContactId = null);

internal sealed record Invited(Person Person, string Link);

/// <summary>
/// Invites somebody to sign in: a link by e-mail, good for seven days and once. Inviting again ends the link before; inviting
/// somebody whose sign-in was closed opens it anew, with a new password and without the old second step. They will sign in with their
/// address where it is nobody else's, else with a name that they choose.
/// </summary>
internal sealed class InvitePerson(
    SchoolDb db, UserManager<Person> people, SignInNames names, Outbox outbox, Audit audit, PublicUrl url, IClock clock)
{
    public const string MessageKind = SignInMessages.Invitation;
    public const int LongestName = 80;

    public Task<Outcome<Invited>> RunAsync(Viewer viewer, Invitee invitee, CancellationToken cancel) => db.InTransactionAsync<Invited>(
        async cancel =>
        {
            var errors = new FieldErrors();
            var name = errors.ReadLine("Name", invitee.Name, LongestName, "Enter a name.");
            var email = errors.ReadEmail("Email", invitee.Email);
            errors.When(
                invitee is { Parts: OfficeParts.None, InstructorId: null, PupilId: null, ContactId: null }, "Parts", "Choose what of the office they look after: at least one part.");
            if (errors.ToRefusal() is { } refusal)
            {
                return refusal;
            }

            // Who gives a hat that opens what is kept of others looks after the settings; a pupil's opens their own alone, and what somebody beside a pupil sees the pupil decides.
            if ((invitee.Parts != OfficeParts.None || invitee.InstructorId is not null) && !viewer.May(Permission.GiveHats))
            {
                return NotTheirsToGive;
            }

            await db.LockAsync([SignInNames.Lock], cancel);
            var known = await FindAsync(invitee, name, email, cancel);
            if (NotAgain(viewer, invitee, known) is { } not)
            {
                return not;
            }

            var person = known ?? new Person
            {
                Id = RowId.New(),
                Name = name,
                Parts = invitee.Parts,
                InstructorId = invitee.InstructorId,
                PupilId = invitee.PupilId,
                ContactId = invitee.ContactId,
            };
            var hats = Wear(person, invitee, known);
            (person.Name, person.Email) = (name, email);
            // A name that was chosen stays; an address is one only as long as it is nobody else's.
            person.UserName = person.UserName is { } chosen && !chosen.Contains('@', StringComparison.Ordinal) ? chosen
                : await names.IsFreeAsync(email, person.Id, cancel) ? email : null;
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
            audit.Note(viewer, "person.invite", person.Id, $"Invited {WornHats.Of(person).Called(person.Name)} to sign in: {hats}");
            return new Invited(person, url.Of(path));
        },
        cancel);

    /// <summary>
    /// The hats of somebody who is invited anew are those of this invitation: whoever was closed gets none back that nobody meant. One who has not
    /// answered yet keeps the others, and the parts of the office are those that were ticked last.
    /// </summary>
    private static string Wear(Person person, Invitee invitee, Person? known)
    {
        var before = WornHats.Of(person);
        if (known is { Closed: true })
        {
            (person.Parts, person.InstructorId, person.PupilId, person.ContactId) = (invitee.Parts, invitee.InstructorId, invitee.PupilId, invitee.ContactId);
        }
        else if (known is not null && invitee.Parts != OfficeParts.None)
        {
            person.Parts = invitee.Parts;
        }

        if (WornHats.Of(person) != before)
        {
            person.HatsVersion++;
        }

        return WornHats.Of(person).Words;
    }

    /// <summary>Who is linked already; of the office, who has both the address and the name, since others may share the address.</summary>
    private async Task<Person?> FindAsync(Invitee invitee, string name, string email, CancellationToken cancel)
    {
        var set = db.Set<Person>();
        if (invitee.InstructorId is { } instructor)
        {
            return await set.SingleOrDefaultAsync(p => p.InstructorId == instructor, cancel);
        }

        if (invitee.PupilId is { } pupil)
        {
            return await set.SingleOrDefaultAsync(p => p.PupilId == pupil, cancel);
        }

        if (invitee.ContactId is { } contact)
        {
            return await set.SingleOrDefaultAsync(p => p.ContactId == contact, cancel);
        }

        var form = people.NormalizeEmail(email);
        var there = await set.Where(p => p.NormalizedEmail == form).OrderBy(p => p.Id).ToListAsync(cancel);
        return there.Find(p => string.Equals(p.Name, name, StringComparison.OrdinalIgnoreCase));
    }

    private static Refusal? NotAgain(Viewer viewer, Invitee invitee, Person? known)
    {
        if (known is null)
        {
            return null;
        }

        if (known is { PasswordHash: not null, Closed: false })
        {
            return Refusal.Conflict(
                "signs_in_already",
                new($"{known.Name} signs in already, as {known.UserName}. Forgotten passwords are renewed on the sign-in page; what else they may do is changed with their hats.",
                    "They sign in already. Forgotten passwords are renewed on the sign-in page."));
        }

        // A pupil invites whom they put beside them; what the school closed, or has begun for another reason, the school opens.
        if (!viewer.KeepsPupils && !viewer.May(Permission.GiveHats) && (known.Closed || known.IsStaff || known.PupilId is not null))
        {
            return AskTheSchool;
        }

        return (known.Parts != OfficeParts.None || known.InstructorId is not null) && !viewer.May(Permission.GiveHats) ? NotTheirs
            : invitee.Parts != OfficeParts.None && known is { Parts: OfficeParts.None, Closed: false }
                ? Refusal.Conflict("invited_already", $"{known.Name} is invited already, with other hats. Give them parts of the office on the page of their hats.")
            : null;
    }

    private static Refusal AskTheSchool { get; } = Refusal.Rule(
        "sign_in_of_school", "Their sign-in is for the school to open. Ask the office to invite them.");

    /// <summary>Who looks after people only must not come by the sign-in of somebody who may do more.</summary>
    public static Refusal NotTheirs { get; } = Refusal.Rule(
        "office_sign_in", "They teach or are of the office as well. Ask somebody who looks after the settings: they alone invite them again or close their sign-in.");

    private static Refusal NotTheirsToGive { get; } = Refusal.Rule(
        "hats_not_yours", "Who signs in as an instructor or for the office is decided by whoever looks after the settings. Ask them to send the invitation.");

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
