using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Pupils;

/// <summary>
/// Puts somebody beside a pupil, or changes what they see: the pupil themselves, or the office once the pupil has agreed. A pupil puts only new
/// people beside them: whom the school knows otherwise is nobody's business.
/// </summary>
internal sealed class PutBeside(SchoolDb db, OwnPupils own, ISeeContacts seen, ContactBook contacts, Outbox outbox, Audit audit)
{
    public const string AlreadyBeside = "already_beside";

    public Task<Outcome<BesidePupil>> RunAsync(Viewer viewer, Guid id, BesideAsked input, int? expected, CancellationToken cancel) => db.InTransactionAsync<BesidePupil>(async cancel =>
    {
        // Not while the contact is being forgotten, and two at once come one after the other.
        await db.LockAsync([$"beside:{id}", ContactLock.Of(input.ContactId ?? id)], cancel);
        var taken = await db.Set<Pupil>().BesideChangeableBy(viewer).TakeAsync(id, null, "pupil", cancel);
        if (!taken.Ok)
        {
            return taken.Refusal;
        }

        if (await own.RefuseUnseenAsync(viewer, id, cancel) is { } unseen)
        {
            return unseen;
        }

        var pupil = taken.Value;
        if (pupil.RetiredOn is not null)
        {
            return PupilRefusals.Left;
        }

        var beside = await db.Set<BesidePupil>().AsNoTracking().Where(b => b.PupilId == id).Select(b => new { b.Id, b.ContactId }).ToListAsync(cancel);
        BesidePupil? row = null;
        if (beside.Find(b => b.ContactId == input.ContactId) is { } standing)
        {
            if (input.OnlyNew)
            {
                return Refusal.Conflict(AlreadyBeside, new("They stand beside this pupil already. Change what they see there.", "They stand beside you already. Change what they see there."));
            }

            var held = await db.Set<BesidePupil>().TakeAsync(standing.Id, expected, "contact", cancel);
            if (!held.Ok)
            {
                return held;
            }

            row = held.Value;
        }
        else if (Refused(viewer, input, expected, beside.Count) is { } refused)
        {
            return refused;
        }
        else if (input.ContactId is { } other && await seen.RefuseAsync(viewer, other, cancel) is { } byName)
        {
            return byName;
        }

        var known = input.ContactId is { } wanted ? await contacts.FindAsync(wanted, cancel) : null;
        if (input.ContactId is not null && known is null)
        {
            return Refusal.NotFound("contact");
        }

        if (input.Wrong(known).ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var contact = known is { } found ? found : await contacts.AddAsync(viewer, input.New!, cancel);
        if (!contact.Ok)
        {
            return contact.Refusal;
        }

        var (relation, letters) = (input.Relation(new()), input.Beside.GetsLetters);
        List<SeenOfPupil> sees = [.. (input.Beside.Sees ?? []).Distinct().Order()];

        var before = row is null ? null : new Allowed(row.Sees, pupil.LettersTo.Contains(row.ContactId));
        if (row is null)
        {
            row = db.Add(new BesidePupil { PupilId = id, ContactId = contact.Value.Id, Relation = relation, Sees = sees }).Entity;
        }
        else
        {
            (row.Relation, row.Sees) = (relation, sees);
            // Whether they get letters stands with the pupil and is read with this row.
            row.Touch();
        }

        await SendLettersAsync(pupil, row.ContactId, letters, cancel);
        await NoteAsync(viewer, pupil, contact.Value, before, new(sees, letters), cancel);
        return row;
    }, cancel);

    private static Refusal? Refused(Viewer viewer, BesideAsked input, int? expected, int count) =>
        expected is not null ? Refusal.NotFound("contact")
        : input.ContactId is not null && !viewer.KeepsPupils ? Refusal.NotFound("contact")
        : count >= BesidePupil.Most ? Refusal.Rule("too_many_contacts", new($"{BesidePupil.Most} people stand beside this pupil. Remove one first.", $"{BesidePupil.Most} people stand beside you. Remove one first."))
        : null;

    private async Task SendLettersAsync(Pupil pupil, Guid contactId, bool letters, CancellationToken cancel)
    {
        if (letters && !pupil.LettersTo.Contains(contactId))
        {
            pupil.LettersTo = [.. pupil.LettersTo, contactId];
        }
        else if (!letters && pupil.LettersTo.Contains(contactId))
        {
            pupil.LettersTo = [.. pupil.LettersTo.Where(other => other != contactId)];
            await outbox.WithdrawCopiesAsync(pupil.Id, contactId, cancel);
        }
    }

    /// <summary>What somebody else was let see, a pupil hears from the school.</summary>
    private async Task NoteAsync(Viewer viewer, Pupil pupil, ContactCard contact, Allowed? before, Allowed after, CancellationToken cancel)
    {
        audit.Note(viewer, "pupil.beside.put", pupil.Id, $"Put somebody beside the pupil, who {after.Words}.");
        if (viewer.PupilId != pupil.Id && !after.Equals(before))
        {
            await outbox.WriteAsync(BesideWording.Letter(pupil, contact.Name, after), cancel);
        }
    }
}

/// <summary>Nobody is beside the pupil any more who was; a contact who then is beside nobody is forgotten.</summary>
internal sealed class RemoveBeside(SchoolDb db, OwnPupils own, ContactBook contacts, Outbox outbox, Audit audit)
{
    public Task<Outcome<BesidePupil>> RunAsync(Viewer viewer, Guid id, Guid contactId, int? expected, CancellationToken cancel) => db.InTransactionAsync<BesidePupil>(async cancel =>
    {
        // Two pupils who let go of one contact at once: the second finds that nobody is left.
        await db.LockAsync([$"beside:{id}", ContactLock.Of(contactId)], cancel);
        var taken = await db.Set<Pupil>().BesideChangeableBy(viewer).TakeAsync(id, null, "pupil", cancel);
        if (!taken.Ok)
        {
            return taken.Refusal;
        }

        if (await own.RefuseUnseenAsync(viewer, id, cancel) is { } unseen)
        {
            return unseen;
        }

        var standing = await db.Set<BesidePupil>().AsNoTracking().Where(b => b.PupilId == id && b.ContactId == contactId).Select(b => b.Id).SingleOrDefaultAsync(cancel);
        var held = await db.Set<BesidePupil>().TakeAsync(standing, expected, "contact", cancel);
        if (!held.Ok)
        {
            return held;
        }

        db.Remove(held.Value);
        taken.Value.LettersTo = [.. taken.Value.LettersTo.Where(other => other != contactId)];
        await outbox.WithdrawCopiesAsync(id, contactId, cancel);
        audit.Note(viewer, "pupil.beside.remove", id, "Somebody is beside the pupil no more.");
        if (!await db.Set<BesidePupil>().AnyAsync(b => b.ContactId == contactId && b.PupilId != id, cancel) && await contacts.ForgetAsync(viewer, contactId, null, cancel) is { Ok: false } refused)
        {
            return refused.Refusal;
        }

        return held;
    }, cancel);
}

/// <summary>What somebody beside a pupil may see and gets.</summary>
internal sealed record Allowed(IReadOnlyList<SeenOfPupil> Sees, bool Letters)
{
    /// <summary>“sees lessons and progress and gets copies of letters”.</summary>
    public string Words => $"{(Sees.Count == 0 ? "sees nothing" : $"sees {string.Join(" and ", Sees.Select(BesideWords.Of))}")}{(Letters ? " and gets copies of letters" : "")}";

    public bool Equals(Allowed? other) => other is not null && Letters == other.Letters && Sees.SequenceEqual(other.Sees);

    public override int GetHashCode() => HashCode.Combine(Sees.Count, Letters);
}

internal static class ContactLock
{
    public static string Of(Guid contactId) => $"contact:{contactId}";
}

internal static class BesideRows
{
    public static IQueryable<Pupil> BesideChangeableBy(this IQueryable<Pupil> pupils, Viewer viewer) => pupils.Where(p => viewer.KeepsPupils || p.Id == viewer.PupilId);
}
