using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Diary.Home;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>Test days ahead and past: a pupil's own, an instructor's pupils', or all.</summary>
[Needs(Permission.SeeLessons)]
internal sealed class IndexModel(TestDayReader reader, SchoolInfo school, Viewer viewer) : PageModel
{
    private const int PerPart = 25;

    /// <summary>Which part of the earlier ones, from 1.</summary>
    [BindProperty(SupportsGet = true)]
    public int Part { get; set; } = 1;

    public Pager Pager { get; private set; } = new("Parts of the list", null, null, null);

    public IReadOnlyList<TestDayCard> Coming { get; private set; } = [];

    public IReadOnlyList<TestDayCard> Earlier { get; private set; } = [];

    public SchoolFacts School { get; private set; } = null!;

    public bool Staff => viewer.IsStaff;

    public async Task OnGetAsync(CancellationToken cancel)
    {
        School = await school.GetAsync(cancel);
        Coming = await reader.ComingAsync(null, viewer, cancel);
        Part = Math.Clamp(Part, 1, 1000);
        var found = await reader.EarlierAsync(null, (Part - 1) * PerPart, PerPart + 1, viewer, cancel);
        Earlier = [.. found.Take(PerPart)];
        Pager = Pager.OfParts("Parts of the list", Part, found.Count > PerPart, part => $"/diary/test-days?part={part}");
    }
}
