using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Office;

/// <summary>What is to be done from an empty service to the first booked lesson, as it stands now.</summary>
[Needs(Permission.ManageSchool)]
internal sealed class FirstStepsModel(FirstSteps steps, Navigation navigation, Viewer viewer) : PageModel
{
    public IReadOnlyList<FirstStep> Steps { get; private set; } = [];

    /// <summary>Where whoever has begun works.</summary>
    public string Work => navigation.StartOf(viewer);

    public async Task OnGetAsync(CancellationToken cancel) => Steps = await steps.ListAsync(Request, cancel);
}

/// <summary>Whoever looks after the settings of a school without any lesson begins at its first steps.</summary>
internal sealed class BeginAtFirstSteps(SchoolInfo school, LessonBook lessons) : IFirstPage
{
    public async Task<string?> ForAsync(Viewer viewer, CancellationToken cancel) =>
        !viewer.May(Permission.ManageSchool) || await lessons.AnyAsync(cancel) ? null
        : (await school.GetAsync(cancel)).IsNamed ? ComesBack.Page : "/office/who";
}
