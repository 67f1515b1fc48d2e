using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>Who is beside a pupil and what they see: the pupil's own to decide, entered by the office where the pupil agreed.</summary>
[Needs(Permission.OwnDetails)]
[OfPupil("id", Sight.ByReason)]
internal sealed class BesideModel(SchoolDb db, ContactBook contacts, ISeeContacts sees, PutBeside put, RemoveBeside remove, InviteBeside invite, SignIns signIns, MailWay mail, Viewer viewer) : PageModel
{
    private const int MostFound = 10;
    private Pupil _pupil = null!;

    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    /// <summary>Who is changed or put beside the pupil; null where somebody new is added.</summary>
    [BindProperty(SupportsGet = true)]
    public Guid? Contact { get; set; }

    [BindProperty(SupportsGet = true)]
    public string? Find { get; set; }

    [BindProperty]
    public int? Version { get; set; }

    [BindProperty]
    public ContactDetails New { get; set; } = new();

    [BindProperty]
    public BesideInput Input { get; set; } = new();

    [BindProperty]
    public bool Lessons { get; set; }

    [BindProperty]
    public bool Progress { get; set; }

    [BindProperty]
    public bool Money { get; set; }

    /// <summary>Staff say that the pupil did.</summary>
    [BindProperty]
    public bool Agreed { get; set; }

    public string Name => _pupil.Name;

    public IReadOnlyList<(BesidePupil Row, ContactCard Contact)> Rows { get; private set; } = [];

    /// <summary>How it stands with the sign-in of those who were ever invited.</summary>
    public IReadOnlyDictionary<Guid, SignInCard> SignIns { get; private set; } = new Dictionary<Guid, SignInCard>();

    public IReadOnlyList<ContactCard>? Found { get; private set; }

    /// <summary>Those of them of whom the viewer sees no more than the name.</summary>
    public IReadOnlySet<Guid> ByName { get; private set; } = new HashSet<Guid>();

    public ContactCard? Chosen { get; private set; }

    /// <summary>What the chosen one is to the pupil already.</summary>
    public BesidePupil? Standing { get; private set; }

    public bool Own => viewer.PupilId == Id;

    public bool MayRemove => Own || viewer.KeepsPupils;

    public bool MayChange => MayRemove && _pupil.RetiredOn is null;

    public bool MayChoose => viewer.KeepsPupils;

    public string SignInWords(Guid contact) => BesideWords.Of(SignIns.GetValueOrDefault(contact)?.State ?? SignInState.NotInvited);

    public bool MayInvite(ContactCard contact) => MayChange && contact.Email.Length > 0 && SignIns.GetValueOrDefault(contact.Id)?.State != SignInState.SignsIn;

    public string Back => Own ? "/pupils/me" : $"/pupils/{Id}";

    public bool GetsLetters(BesidePupil row) => _pupil.LettersTo.Contains(row.ContactId);

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (!await LoadAsync(cancel))
        {
            return NotFound();
        }

        if (Standing is { } row)
        {
            Version = row.Version;
            Input = new() { Relation = row.Relation, GetsLetters = GetsLetters(row) };
            (Lessons, Progress, Money) = (row.Sees.Contains(SeenOfPupil.Lessons), row.Sees.Contains(SeenOfPupil.Progress), row.Sees.Contains(SeenOfPupil.Money));
        }

        Found = MayChoose && !string.IsNullOrWhiteSpace(Find) ? await contacts.SearchAsync(Find, 0, MostFound, cancel) : null;
        ByName = await sees.ByNameAsync(viewer, [.. Found?.Select(card => card.Id) ?? []], cancel);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var parts = new[] { (Lessons, SeenOfPupil.Lessons), (Progress, SeenOfPupil.Progress), (Money, SeenOfPupil.Money) };
        var input = Input with { Sees = [.. parts.Where(part => part.Item1).Select(part => part.Item2)] };
        var asked = new BesideAsked(Contact, Contact is null ? New : null, input, OnlyNew: Version is null);
        if (!Own && !Agreed && (input.Sees.Count > 0 || input.GetsLetters))
        {
            // With all else that is wrong, so that it is one round.
            Refuse(asked.Wrong(Contact is { } known ? await contacts.FindAsync(known, cancel) : null).ToRefusal());
            ModelState.AddModelError(nameof(Agreed), "Ask the pupil first: what others see is theirs to decide.");
        }
        else if (!ModelState.IsValid)
        {
            Refuse(asked.Wrong(Contact is { } known ? await contacts.FindAsync(known, cancel) : null).ToRefusal());
        }
        else
        {
            var kept = await put.RunAsync(viewer, Id, asked, Version, cancel);
            if (kept.Ok)
            {
                TempData["Done"] = Version is null ? "Added." : "Your changes are kept.";
                return Redirect($"/pupils/{Id}/beside");
            }

            Refuse(kept.Refusal);
        }

        return await LoadAsync(cancel) ? Page() : NotFound();
    }

    /// <summary>Each fault beside its field, of the new contact or of what they are to the pupil; one that binding told already is not told twice.</summary>
    private void Refuse(Refusal? refusal)
    {
        if (refusal is null)
        {
            return;
        }

        if (refusal.Fields.Count == 0)
        {
            this.AddRefusal(refusal);
            return;
        }

        foreach (var field in refusal.Fields)
        {
            var prefix = typeof(ContactDetails).GetProperty(field.Key) is null ? nameof(Input) : nameof(New);
            if (ModelState[$"{prefix}.{field.Key}"] is not { Errors.Count: > 0 })
            {
                this.AddRefusal(refusal with { Fields = new Dictionary<string, string[]> { [field.Key] = field.Value } }, prefix);
            }
        }
    }

    public async Task<IActionResult> OnPostRemoveAsync(Guid person, CancellationToken cancel)
    {
        var removed = await remove.RunAsync(viewer, Id, person, null, cancel);
        TempData["Done"] = removed.Ok ? "Removed. They see nothing and get no more letters." : removed.Refusal.Kind == RefusalKind.NotFound ? "They were removed already." : removed.Refusal.For(viewer);
        return Redirect($"/pupils/{Id}/beside");
    }

    public async Task<IActionResult> OnPostInviteAsync(Guid person, CancellationToken cancel)
    {
        var invited = await invite.RunAsync(viewer, Id, person, cancel);
        if (invited.Ok)
        {
            TempData["Done"] = mail.Invited(invited.Value.Email, toPupil: !viewer.Towards(Id).IsStaff);
            return Redirect($"/pupils/{Id}/beside");
        }

        this.AddRefusal(invited.Refusal);
        return await LoadAsync(cancel) ? Page() : NotFound();
    }

    private async Task<bool> LoadAsync(CancellationToken cancel)
    {
        if (await db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(p => p.Id == Id, cancel) is not { } pupil)
        {
            return false;
        }

        _pupil = pupil;
        var rows = await db.Set<BesidePupil>().AsNoTracking().Where(b => b.PupilId == Id).OrderBy(b => b.Id).ToListAsync(cancel);
        var cards = await contacts.CardsAsync(rows.Select(row => row.ContactId), cancel);
        Rows = rows.ConvertAll(row => (row, cards[row.ContactId]));
        SignIns = await signIns.OfContactsAsync([.. rows.Select(row => row.ContactId)], cancel);
        Standing = rows.Find(row => row.ContactId == Contact);
        Chosen = Contact is not { } id ? null : cards.GetValueOrDefault(id) ?? (MayChoose ? await contacts.FindAsync(id, cancel) : null);
        return Contact is null || Chosen is not null;
    }
}
