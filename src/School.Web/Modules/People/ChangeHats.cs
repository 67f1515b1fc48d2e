using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using School.Core;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>All hats that somebody wears from now on: parts of the office, and whom they are linked to.</summary>
internal sealed record HatsInput([property: Needed, Items(0, HatsInput.Most)] IReadOnlyList<OfficePart>? Parts = null, Guid? InstructorId = null, Guid? PupilId = null, Guid? ContactId = null)
{
    /// <summary>As many as there are.</summary>
    public const int Most = 5;
}

/// <summary>Gives and takes hats. What they open is so at once, in every browser and program; the person gets a letter.</summary>
internal sealed class ChangeHats(SchoolDb db, UserManager<Person> people, CloseSignIn close, Outbox outbox, Audit audit, ILogger<ChangeHats> logger)
{
    public const string MessageKind = "hats-changed";

    public Task<Outcome<Person>> RunAsync(Viewer viewer, Guid id, HatsInput input, int? expected, CancellationToken cancel) => db.InTransactionAsync<Person>(
        async cancel =>
        {
            await db.LockAsync([SettingsHolders.Lock], cancel);
            if (await db.Set<Person>().SingleOrDefaultAsync(p => p.Id == id, cancel) is not { } person)
            {
                return Refusal.NotFound("sign-in");
            }

            if (person.HatsVersion.StaleAs(expected) is { } stale)
            {
                return stale;
            }

            if (await WrongAsync(person, input, cancel) is { } wrong)
            {
                return wrong;
            }

            var hats = new WornHats(input.Parts!.Together(), input.InstructorId, input.PupilId, input.ContactId);
            return person.Closed
                ? Refusal.Rule("sign_in_closed", "This sign-in is closed. Invite them again first, then change their hats.")
                : await WearAsync(viewer, person, hats, cancel) is { } refusal ? refusal : person;
        },
        cancel);

    /// <summary>
    /// Takes one hat off somebody who leaves as a pupil or an instructor, or stands beside nobody any more, in the caller's transaction: whoever wears
    /// no other cannot sign in any more, and nothing is kept of whoever was nothing but beside a pupil.
    /// </summary>
    public async Task<Refusal?> TakeOffAsync(Viewer viewer, Guid id, Hat hat, CancellationToken cancel)
    {
        await db.LockAsync([SettingsHolders.Lock], cancel);
        var person = await db.Set<Person>().SingleAsync(p => p.Id == id, cancel);
        var left = hat switch
        {
            Hat.Pupil => WornHats.Of(person) with { PupilId = null },
            Hat.Instructor => WornHats.Of(person) with { InstructorId = null },
            Hat.Office => WornHats.Of(person) with { Parts = OfficeParts.None },
            Hat.BesidePupil => WornHats.Of(person) with { ContactId = null },
        };
        if (left.Any)
        {
            return await WearAsync(viewer, person, left, cancel);
        }

        var closed = await close.RunAsync(viewer, id, cancel);
        if (closed.Ok && hat == Hat.BesidePupil)
        {
            await outbox.WithdrawAsync(id, [MessageKind], cancel);
            person.Forget();
        }

        return closed.Refusal;
    }

    /// <summary>Somebody who signs in already stands beside pupils as well, in the caller's transaction.</summary>
    public async Task<Refusal?> StandBesideAsync(Viewer viewer, Guid id, Guid contactId, CancellationToken cancel)
    {
        await db.LockAsync([SettingsHolders.Lock], cancel);
        var person = await db.Set<Person>().SingleAsync(p => p.Id == id, cancel);
        return await WearAsync(viewer, person, WornHats.Of(person) with { ContactId = contactId }, cancel);
    }

    private async Task<Refusal?> WearAsync(Viewer viewer, Person person, WornHats hats, CancellationToken cancel)
    {
        var (before, wasStaff) = (WornHats.Of(person), person.IsStaff);
        if (before == hats)
        {
            return null;
        }

        var losesSettings = before.Parts.Holds(OfficePart.Settings) && !hats.Parts.Holds(OfficePart.Settings) && person.PasswordHash is not null;
        if (losesSettings && !await db.OtherSettingsHolderAsync(person.Id, cancel))
        {
            return SettingsHolders.Last;
        }

        (person.Parts, person.InstructorId, person.PupilId, person.ContactId) = (hats.Parts, hats.InstructorId, hats.PupilId, hats.ContactId);
        person.HatsVersion++;
        // A pupil's browser stays signed in for longer than staff's may, so whoever joins the staff signs in again. A link of an invitation has the
        // stamp in it, and nobody is signed in by it yet.
        var saved = !wasStaff && person.IsStaff && person.PasswordHash is not null ? await people.UpdateSecurityStampAsync(person) : await people.UpdateAsync(person);
        if (saved.ToRefusal("Parts") is { } refusal)
        {
            return refusal;
        }

        audit.Note(viewer, "person.hats", person.Id, $"Changed the hats of {(hats.PupilId ?? before.PupilId) switch { null => hats.Called(person.Name), _ => "somebody who learns here" }}: {hats.Words} Before: {before.Words}");
        SignInLog.Changed(logger, person.Id, "hats changed");
        await outbox.WriteAsync(
            new(MessageKind, $"{MessageKind}:{person.Id}:{person.HatsVersion}", person.Id, Receiver.Person(person.Id), hats.Facts()) { Acts = [new(HatsWording.Open, "/")] }, cancel);
        return null;
    }

    private async Task<Refusal?> WrongAsync(Person person, HatsInput input, CancellationToken cancel)
    {
        var errors = new FieldErrors()
            .When(input.Parts is null, nameof(input.Parts), "Name the parts of the office; an empty list means none.")
            .When(input.Parts?.Count > HatsInput.Most, nameof(input.Parts), "There are five parts of the office; name each once.")
            .When(
                input is { Parts.Count: 0, InstructorId: null, PupilId: null, ContactId: null }, nameof(input.Parts),
                "Somebody who signs in has at least one hat. Choose one, or close the sign-in instead.");
        if (input.InstructorId is { } instructor && instructor != person.InstructorId)
        {
            errors.When(!await db.Set<Instructor>().AnyAsync(i => i.Id == instructor && i.RetiredOn == null, cancel), nameof(input.InstructorId), "Choose an instructor who teaches here.")
                .When(await db.Set<Person>().AnyAsync(p => p.InstructorId == instructor, cancel), nameof(input.InstructorId), "Somebody already signs in as this instructor.");
        }

        if (input.PupilId is { } pupil && pupil != person.PupilId)
        {
            errors.When(await db.Set<Person>().AnyAsync(p => p.PupilId == pupil, cancel), nameof(input.PupilId), "Somebody already signs in as this pupil.");
        }

        if (input.ContactId is { } contact && contact != person.ContactId)
        {
            errors.When(!await db.Set<Contact>().AnyAsync(c => c.Id == contact, cancel), nameof(input.ContactId), "Choose somebody who is beside a pupil.")
                .When(await db.Set<Person>().AnyAsync(p => p.ContactId == contact, cancel), nameof(input.ContactId), "Somebody already signs in as this contact.");
        }

        return errors.ToRefusal();
    }
}

/// <summary>The hats that somebody wears.</summary>
internal sealed record WornHats(OfficeParts Parts, Guid? InstructorId, Guid? PupilId, Guid? ContactId)
{
    public bool Any => Parts != OfficeParts.None || InstructorId is not null || PupilId is not null || ContactId is not null;

    public string Words => $"{string.Join("; ", HatWords.Of(Parts, InstructorId is not null, PupilId is not null, ContactId is not null))}.";

    /// <summary>How the audit speaks of whoever wears them: staff by name.</summary>
    public string Called(string name) =>
        PupilId is not null ? "a pupil" : Parts != OfficeParts.None || InstructorId is not null ? name : "somebody beside a pupil";

    public static WornHats Of(Person person) => new(person.Parts, person.InstructorId, person.PupilId, person.ContactId);

    /// <summary>What the letter tells.</summary>
    public IReadOnlyList<Fact> Facts() =>
    [
        Fact.Of(HatsWording.Parts, (int)Parts), Fact.Of(HatsWording.Teaches, InstructorId is null ? 0 : 1), Fact.Of(HatsWording.Learns, PupilId is null ? 0 : 1),
        .. ContactId is null ? Array.Empty<Fact>() : [Fact.Of(HatsWording.Beside, 1)],
    ];
}

internal static class HatWords
{
    /// <summary>“teaches”, “of the office: diary, settings”, “learns here”, “stands beside a pupil”.</summary>
    public static IReadOnlyList<string> Of(OfficeParts parts, bool teaches, bool learns, bool beside = false) =>
    [
        .. teaches ? ["teaches"] : Array.Empty<string>(),
        .. parts == OfficeParts.None ? [] : new[] { $"of the office: {Of(parts)}" },
        .. learns ? ["learns here"] : Array.Empty<string>(),
        .. beside ? ["stands beside a pupil"] : Array.Empty<string>(),
    ];

    public static string Of(OfficeParts parts) => string.Join(", ", parts.List().Select(Of));

    public static string Of(OfficePart part) => part switch
    {
        OfficePart.Diary => "diary",
        OfficePart.People => "people",
        OfficePart.Money => "money",
        OfficePart.Settings => "settings",
        OfficePart.Confidential => "what is confidential",
    };
}
