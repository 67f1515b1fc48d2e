using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Pupils.Contacts;

/// <summary>Everybody who is beside pupils, and beside whom.</summary>
[Needs(Permission.ManagePupils)]
internal sealed class IndexModel(SchoolDb db, ContactBook contacts, ISeeContacts sees, Viewer viewer) : PageModel
{
    private const int PerPage = 50;

    [BindProperty(SupportsGet = true)]
    public string? Q { get; set; }

    /// <summary>Which page of the list, from 1.</summary>
    [BindProperty(SupportsGet = true)]
    public int Part { get; set; } = 1;

    public IReadOnlyList<(ContactCard Card, IReadOnlyList<(Guid Id, string Name)> Pupils)> Rows { get; private set; } = [];

    /// <summary>Those of whom the viewer sees no more than the name.</summary>
    public IReadOnlySet<Guid> ByName { get; private set; } = new HashSet<Guid>();

    public Pager Pager { get; private set; } = new("Pages of the list", null, null, null);

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var part = Math.Clamp(Part, 1, 1000);
        var found = await contacts.SearchAsync(Q, (part - 1) * PerPage, PerPage + 1, cancel);
        Guid[] ids = [.. found.Take(PerPage).Select(card => card.Id)];
        var beside = await db.Set<BesidePupil>().Where(b => ids.Contains(b.ContactId))
            .Join(db.Set<Pupil>(), b => b.PupilId, p => p.Id, (b, p) => new { b.ContactId, p.Id, p.Name }).OrderBy(b => b.Name).ToListAsync(cancel);
        ByName = await sees.ByNameAsync(viewer, ids, cancel);
        Rows = [.. found.Take(PerPage).Select(card => (card, (IReadOnlyList<(Guid, string)>)[.. beside.Where(b => b.ContactId == card.Id).Select(b => (b.Id, b.Name))]))];
        Pager = Pager.OfParts("Pages of the list", part, found.Count > PerPage, other => Url.Page("Index", new { Q, Part = other })!);
    }
}
