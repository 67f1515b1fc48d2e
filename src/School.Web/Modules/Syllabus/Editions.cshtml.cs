using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus;

/// <summary>What changed from edition to edition, and who changed it.</summary>
[Needs(Permission.SeeSyllabus)]
internal sealed class EditionsModel(SchoolDb db, SyllabusBook book, SchoolInfo school) : PageModel
{
    private const int PerPage = 50;

    private DateTimeZone zone = null!;

    public IReadOnlyList<EditionLine> Editions { get; private set; } = [];

    public int Newest { get; private set; }

    /// <summary>The number before which the next page begins; null on the last.</summary>
    public int? Earlier { get; private set; }

    public string When(Instant moment) => ScreenWords.DayAndYear(moment.InZone(zone).Date);

    public async Task OnGetAsync(int? before, CancellationToken cancel)
    {
        zone = (await school.GetAsync(cancel)).Zone;
        Newest = (await book.CurrentAsync(cancel)).Number;
        var below = before ?? int.MaxValue;
        Editions = await db.Set<KeptEdition>().AsNoTracking().Where(e => e.Number < below).OrderByDescending(e => e.Number).Take(PerPage)
            .Select(e => new EditionLine(e.Number, e.MadeAt, e.MadeBy, e.Words)).ToListAsync(cancel);
        Earlier = Editions.Count == PerPage && Editions[^1].Number > 1 ? Editions[^1].Number : null;
    }

    internal sealed record EditionLine(int Number, Instant MadeAt, string MadeBy, string Words);
}
