using Microsoft.EntityFrameworkCore;
using School.Core;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Find;
using School.Web.Platform.Forms;

namespace School.Web.Modules.People.Contracts;

/// <summary>What somebody is by nature; what they are to one pupil is said in words beside.</summary>
internal enum ContactKind
{
    Parent,
    Guardian,
    Partner,
    Employer,
    Other,
}

/// <summary>Somebody beside pupils, as other modules see them.</summary>
internal sealed record ContactCard(Guid Id, string Name, string Email, string Phone, ContactKind Kind);

/// <summary>A contact as a form or the API sends it: a name and one way to reach them.</summary>
internal sealed record ContactDetails
{
    public const int LongestName = InvitePerson.LongestName;

    [Needed, AtMost(LongestName)]
    public string? Name { get; init; }

    /// <summary>Empty where they are reached by phone alone.</summary>
    [AtMost(EmailAddress.Longest)]
    public string? Email { get; init; }

    /// <summary>Empty where they are reached by e-mail alone.</summary>
    [AtMost(Platform.Forms.Phone.Longest)]
    public string? Phone { get; init; }

    [Needed]
    public ContactKind? Kind { get; init; }

    public static ContactDetails Of(ContactCard card) => new() { Name = card.Name, Email = card.Email, Phone = Platform.Forms.Phone.Display(card.Phone), Kind = card.Kind };

    /// <summary>All that is wrong with it.</summary>
    public FieldErrors Wrong() => Read().Refusal is { } refusal ? new FieldErrors().AddAll(refusal) : new();

    internal Outcome<Contact> Read()
    {
        var errors = new FieldErrors();
        var name = errors.ReadLine(nameof(Name), Name, LongestName, "Enter the contact's name.");
        var (email, phone) = errors.ReadReached(nameof(Email), Email, nameof(Phone), Phone);
        errors.When(Kind is null, nameof(Kind), "Say who this is: parent, guardian, partner, employer or other.");
        return errors.ToRefusal() is { } refusal ? refusal : new Contact { Name = name, Email = email, Phone = phone, Kind = Kind!.Value };
    }
}

/// <summary>The people beside pupils: read, added and changed by the modules that name them.</summary>
internal sealed class ContactBook(SchoolDb db, AddContact add, ChangeContactDetails change, ForgetContact forget)
{
    public async Task<ContactCard?> FindAsync(Guid id, CancellationToken cancel) =>
        await Cards(db.Set<Contact>().Where(c => c.Id == id)).SingleOrDefaultAsync(cancel);

    /// <summary>A contact with the version that a change of it names.</summary>
    public async Task<(ContactCard Card, int Version)?> FindToChangeAsync(Guid id, CancellationToken cancel) =>
        await db.Set<Contact>().AsNoTracking().SingleOrDefaultAsync(c => c.Id == id, cancel) is { } row
            ? (Card(row), row.Version)
            : null;

    public async Task<IReadOnlyDictionary<Guid, ContactCard>> CardsAsync(IEnumerable<Guid> ids, CancellationToken cancel)
    {
        var wanted = ids.Distinct().ToArray();
        return wanted.Length == 0 ? new Dictionary<Guid, ContactCard>() : await Cards(db.Set<Contact>().Where(c => wanted.Contains(c.Id))).ToDictionaryAsync(c => c.Id, cancel);
    }

    /// <summary>Those whose name holds every word that was typed, by name.</summary>
    public async Task<IReadOnlyList<ContactCard>> SearchAsync(string? typed, int skip, int most, CancellationToken cancel) =>
        await Cards(Matching(db.Set<Contact>(), typed).OrderBy(c => c.Name).ThenBy(c => c.Id).Skip(skip).Take(most)).ToListAsync(cancel);

    /// <summary>Those who fit what is looked for; by number or address, where it is one.</summary>
    /// <param name="question">What is looked for.</param>
    /// <param name="only">Among these; null for all.</param>
    /// <param name="byName">Those who are found by their name alone; null for nobody.</param>
    /// <param name="most">At most so many.</param>
    /// <param name="cancel">Ends it.</param>
    public async Task<IReadOnlyList<NamedRow>> FoundAsync(Question question, IQueryable<Guid>? only, IQueryable<Guid>? byName, int most, CancellationToken cancel)
    {
        var all = only is null ? db.Set<Contact>() : db.Set<Contact>().Where(c => only.Contains(c.Id));
        if (question.Digits.Length + question.Address.Length == 0)
        {
            return await Named(all).NamedAsync(question, most, cancel);
        }

        var (digits, address) = (question.Digits, question.AddressPattern);
        var reached = digits.Length > 0 ? all.Where(c => c.Phone.Contains(digits)) : all.Where(c => EF.Functions.ILike(c.Email, address, @"\"));
        reached = byName is null ? reached : reached.Where(c => !byName.Contains(c.Id));
        return await Named(reached).OrderByDescending(c => c.Id).Take(most).ToListAsync(cancel);
    }

    private static IQueryable<NamedRow> Named(IQueryable<Contact> rows) => rows.Select(c => new NamedRow { Id = c.Id, Label = c.Name, Plain = FindSql.Plain(c.Name), Left = null });

    public async Task<Outcome<ContactCard>> AddAsync(Viewer viewer, ContactDetails input, CancellationToken cancel) => Card(await add.RunAsync(viewer, input, cancel));

    public async Task<Outcome<ContactCard>> ChangeAsync(Viewer viewer, Guid id, ContactDetails input, int? expected, CancellationToken cancel) =>
        Card(await change.RunAsync(viewer, id, input, expected, cancel));

    public async Task<Outcome<ContactCard>> ForgetAsync(Viewer viewer, Guid id, int? expected, CancellationToken cancel) => Card(await forget.RunAsync(viewer, id, expected, cancel));

    internal static IQueryable<Contact> Matching(IQueryable<Contact> contacts, string? typed)
    {
        foreach (var word in CleanText.Line(typed).Split(' ', StringSplitOptions.RemoveEmptyEntries).Take(5))
        {
            var pattern = $"%{word.Replace(@"\", @"\\").Replace("%", @"\%").Replace("_", @"\_")}%";
            contacts = contacts.Where(c => EF.Functions.ILike(c.Name, pattern, @"\"));
        }

        return contacts;
    }

    private static Outcome<ContactCard> Card(Outcome<Contact> row) => row.Ok ? Card(row.Value) : row.Refusal;

    internal static ContactCard Card(Contact row) => new(row.Id, row.Name, row.Email, row.Phone, row.Kind);

    private static IQueryable<ContactCard> Cards(IQueryable<Contact> rows) => rows.Select(c => new ContactCard(c.Id, c.Name, c.Email, c.Phone, c.Kind));
}
