using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Beside;

/// <summary>The first page of somebody beside pupils: of each what that pupil lets them see.</summary>
[Needs(Permission.SeeBeside)]
internal sealed class IndexModel(BesideBook beside, PupilLessons lessons, TestDayReader tests, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    private const int PerPage = 20;

    /// <summary>Which page of the list, from 1.</summary>
    [BindProperty(SupportsGet = true)]
    public int Part { get; set; } = 1;

    public SchoolFacts School { get; private set; } = null!;

    public Instant Now { get; private set; }

    public IReadOnlyList<Card> Cards { get; private set; } = [];

    public Pager Pager { get; private set; } = new("Pages of the list", null, null, null);

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var part = Math.Clamp(Part, 1, 1000);
        var found = await beside.ListAsync(viewer, (part - 1) * PerPage, PerPage + 1, cancel);
        PupilBeside[] shown = [.. found.Take(PerPage)];
        (School, Now) = (await school.GetAsync(cancel), clock.GetCurrentInstant());
        var next = (await lessons.NextAsync(shown, cancel)).ToLookup(card => card.Lesson.PupilId);
        var test = (await tests.ComingAsync(shown, cancel)).ToLookup(row => row.PupilId);
        Cards = [.. shown.Select(row => new Card(row, next[row.PupilId].FirstOrDefault(), test[row.PupilId].FirstOrDefault()))];
        Pager = Pager.OfParts("Pages of the list", part, found.Count > PerPage, other => Url.Page("Index", new { Part = other })!);
    }

    internal sealed record Card(PupilBeside Pupil, LessonCard? Next, TestDay? Test);
}
