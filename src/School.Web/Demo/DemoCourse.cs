using NodaTime;
using School.Web.Modules.Diary.Courses;
using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Access;

namespace School.Web.Demo;

/// <summary>An intensive course that the office has planned and not booked yet: of as many hours as there is room for.</summary>
internal sealed class DemoCourse(IServiceProvider services, DemoClock clock, Instant now, DateTimeZone zone)
{
    /// <summary>Whose: somebody without a limit on the week.</summary>
    private const int Pupil = 33;

    private const int FirstWeek = 2;
    private const int Weeks = 3;
    private const int MostADay = 180;

    private static readonly int[] Hours = [20, 16, 12, 9, 6, 4];

    public async Task FillAsync(IReadOnlyList<DemoPupil> pupils)
    {
        clock.Now = now - Duration.FromMinutes(5);
        var (pupil, instructor, today) = (pupils[Pupil].Pupil, pupils[Pupil].Instructor, now.InZone(zone).Date);
        var monday = today.With(DateAdjusters.PreviousOrSame(IsoDayOfWeek.Monday)).PlusWeeks(FirstWeek);
        foreach (var hours in Hours)
        {
            var planned = await DemoVerbs.TryAsync<PlanCourse, Proposal>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(
                Viewer.Service, new(pupil.Id, instructor.Id, hours * 60, monday, monday.PlusWeeks(Weeks).PlusDays(-1), MostADay), cancel));
            if (planned.Ok)
            {
                return;
            }
        }
    }
}
