using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Diary.Home;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>Test days ahead and past: a pupil's own, an instructor's pupils', or all.</summary>
[Needs(Permission.SeeLessons)]
internal sealed class IndexModel(TestDayReader reader, SchoolInfo school, Viewer viewer) : PageModel
{
    public IReadOnlyList<TestDayCard> Coming { get; private set; } = [];

    public IReadOnlyList<TestDayCard> Earlier { get; private set; } = [];

    public SchoolFacts School { get; private set; } = null!;

    public bool Staff => viewer.IsStaff;

    public async Task OnGetAsync(CancellationToken cancel)
    {
        School = await school.GetAsync(cancel);
        Coming = await reader.ComingAsync(null, viewer, cancel);
        Earlier = await reader.EarlierAsync(null, TestDayReader.MostShown, viewer, cancel);
    }
}
