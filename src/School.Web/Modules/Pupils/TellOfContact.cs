using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Pupils;

/// <summary>Tells every pupil beside whom a contact stands when somebody else changed how that contact is reached: what they may see would go elsewhere.</summary>
internal sealed class TellOfContact(SchoolDb db, Outbox outbox) : IHearOfContacts
{
    public async Task ChangedAsync(Viewer viewer, ContactCard before, ContactCard after, CancellationToken cancel)
    {
        if ((before.Email, before.Phone) == (after.Email, after.Phone))
        {
            return;
        }

        var beside = db.Set<BesidePupil>().Where(b => b.ContactId == after.Id).Select(b => b.PupilId);
        foreach (var pupil in await db.Set<Pupil>().Where(p => beside.Contains(p.Id) && p.RetiredOn == null && p.Id != viewer.PupilId).OrderBy(p => p.Id).Select(p => p.Id).ToListAsync(cancel))
        {
            await outbox.WriteAsync(ContactWording.Letter(viewer, pupil, before, after), cancel);
        }
    }
}

/// <summary>Tells a pupil that a contact's address or number was changed, by whom, and where to change what they see.</summary>
internal sealed class ContactWording : ILetterWording
{
    public const string Kind = "contact_changed";
    private const string Contact = "contact";
    private const string By = "by";
    private const string Email = "email";
    private const string EmailBefore = "email_before";
    private const string Number = "phone";
    private const string NumberBefore = "phone_before";
    private const string Open = "open_beside";

    public IReadOnlyCollection<string> Kinds { get; } = [Kind];

    public static Letter Letter(Viewer viewer, Guid pupil, ContactCard before, ContactCard after) => new(
        Kind, $"{Kind}:{pupil}:{RowId.New()}", pupil, Receiver.Pupil(pupil),
        [
            Fact.Of(Contact, after.Name),
            Fact.Of(By, viewer.Name),
            .. before.Email == after.Email ? Array.Empty<Fact>() : [Fact.Of(EmailBefore, before.Email), Fact.Of(Email, after.Email)],
            .. before.Phone == after.Phone ? Array.Empty<Fact>() : [Fact.Of(NumberBefore, before.Phone), Fact.Of(Number, after.Phone)],
        ])
    {
        Acts = [new(Open, $"/pupils/{pupil}/beside")],
    };

    public LetterWords Of(LetterReading letter)
    {
        var name = letter.Text(Contact);
        var lines = new List<(string, string)>();
        if (letter.Has(Email))
        {
            lines.Add(("E-mail address", Change(letter.Text(EmailBefore), letter.Text(Email))));
        }

        if (letter.Has(Number))
        {
            lines.Add(("Phone", Change(Phone.Display(letter.Text(NumberBefore)), Phone.Display(letter.Text(Number)))));
        }

        lines.Add(("Changed by", letter.Text(By)));
        return new(
            $"How we reach {name} was changed",
            $"We reach {name}, who stands beside you, in another way from now on.",
            lines,
            [$"You decide what they see and get. If this is wrong, change that or remove them{letter.OrCall}."],
            letter.Links(code => code == Open ? "Who is beside you" : null));
    }

    private static string Change(string before, string after) => $"{(after.Length == 0 ? "none" : after)} (before: {(before.Length == 0 ? "none" : before)})";
}
