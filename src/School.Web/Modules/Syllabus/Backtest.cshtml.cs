using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Core.Syllabus.Readiness;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Syllabus.Readiness;
using School.Web.Platform.Access;

namespace School.Web.Modules.Syllabus;

/// <summary>What would have been forecast of the school's own finished pupils, beside what came true.</summary>
[Needs(Permission.ManageSchool)]
internal sealed class BacktestModel(ReadinessBacktest backtest, PupilBook pupils, Viewer viewer) : PageModel
{
    public BacktestView View { get; private set; } = null!;

    public IReadOnlyDictionary<Guid, PupilCard> Pupils { get; private set; } = null!;

    public static string Quarter(int quarter) => quarter switch { 0 => "At the start", 1 => "After a quarter", 2 => "Halfway", _ => "After three quarters" };

    /// <summary>Like “18 (11 to 28)”.</summary>
    public static string Said(BacktestPoint point) =>
        $"{ReadinessWords.Number(point.Forecast.LessonHours.Median)} ({ReadinessWords.Between(point.Forecast.LessonHours)})";

    public static string Came(BacktestPoint point) =>
        $"came to {ReadinessWords.Number(point.HoursToCome)}{(point.Forecast.LessonHours.Holds(point.HoursToCome) ? "" : ", outside")}";

    public async Task OnGetAsync(CancellationToken cancel)
    {
        View = await backtest.RunAsync(viewer, cancel);
        Pupils = await pupils.CardsAsync(View.Shown.Select(point => View.Pupils[point.Pupil].PupilId).Distinct(), cancel);
    }
}
