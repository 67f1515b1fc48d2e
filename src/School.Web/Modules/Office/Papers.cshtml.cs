using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Core.Papers;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Office;

/// <summary>All papers of the school on one list: what ends first stands first.</summary>
[Needs(Permission.SeeWholeDiary)]
internal sealed class PapersModel(PaperList papers, PersonNames people, SchoolInfo school, IClock clock) : PageModel
{
    private const int PerPage = 40;

    [BindProperty(SupportsGet = true)]
    public PaperHolder? Whose { get; set; }

    [BindProperty(SupportsGet = true)]
    public PaperKind? Kind { get; set; }

    /// <summary>Only those that end within so many days, or have ended.</summary>
    [BindProperty(SupportsGet = true)]
    public int? Within { get; set; }

    /// <summary>Which page of the list, from 1.</summary>
    [BindProperty(SupportsGet = true)]
    public int Part { get; set; } = 1;

    public IReadOnlyList<PaperRow> Lines { get; private set; } = [];

    /// <summary>Those of this page that are wrong or soon end.</summary>
    public IReadOnlyList<PaperRow> ToHeed => [.. Lines.Where(line => line.State.IsToHeed())];

    /// <summary>The others, folded by the month in which they end.</summary>
    public IReadOnlyList<(string Month, IReadOnlyList<PaperRow> Lines)> InDate =>
    [
        .. Lines.Where(line => !line.State.IsToHeed()).GroupBy(line => line.Paper.Until is { } until ? PaperWords.Month(until) : "No end")
            .Select(month => (month.Key, (IReadOnlyList<PaperRow>)[.. month])),
    ];

    /// <summary>Where the rule about each kind on this page stands, once.</summary>
    public IReadOnlyList<(string Kind, PaperSource Source)> Sources =>
        [.. Lines.Select(line => (Kind: line.Paper.Kind.Words(), line.Paper.Source)).Distinct().OrderBy(one => one.Kind, StringComparer.Ordinal)];

    public int Count { get; private set; }

    public PaperRoad Road { get; private set; } = null!;

    public Pager Pager { get; private set; } = new("Pages of the list", null, null, null);

    public static IEnumerable<SelectListItem> Holders => Enum.GetValues<PaperHolder>().Select(holder => new SelectListItem(holder.Words(), holder.ToString()));

    public static IEnumerable<SelectListItem> Kinds => Enum.GetValues<PaperKind>().Select(kind => new SelectListItem(kind.Words(), kind.ToString()));

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        Road = new(today);
        if (Within is < 0 or > PaperFilter.MostDays)
        {
            ModelState.AddModelError(nameof(Within), PaperFilter.WrongDays);
        }

        if (!ModelState.IsValid)
        {
            return;
        }

        var all = new PaperFilter(Whose, Kind, Within).Of(await papers.ListAsync(today, cancel), today);
        var part = Math.Clamp(Part, 1, 1000);
        var shown = all.Skip((part - 1) * PerPage).Take(PerPage).ToList();
        var names = await people.OfAsync([.. shown.Select(held => held.Paper.SeenBy).OfType<Guid>().Distinct()], cancel);
        Count = all.Count;
        Lines = shown.ConvertAll(held => new PaperRow(held, held.Paper.StateOn(today), Road.Of(held.Paper), held.Paper.SeenBy is { } by ? names.GetValueOrDefault(by) : null));
        Pager = Pager.OfParts("Pages of the list", part, all.Count > part * PerPage, other => Url.Page("Papers", new { Whose, Kind, Within, Part = other })!);
    }
}

/// <summary>A paper as a line of the list.</summary>
internal sealed record PaperRow(HeldPaper Held, PaperState State, RoadPiece Road, string? SeenBy)
{
    public Paper Paper => Held.Paper;
}

/// <summary>Some lines of the list under one caption.</summary>
internal sealed record PaperRows(string Caption, IReadOnlyList<PaperRow> Lines, PaperRoad Road);
