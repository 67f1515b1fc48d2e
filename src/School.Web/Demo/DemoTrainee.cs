using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Supervision;
using School.Web.Modules.People;
using School.Web.Modules.Syllabus.Readiness;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Demo;

/// <summary>What is kept beside the lessons: on which days somebody sat in on the trainee's, and which pupils were shown their forecast.</summary>
internal sealed class DemoTrainee(IServiceProvider services, DemoClock clock, Instant now, DateTimeZone zone)
{
    private static readonly (int Pupil, string Sentence)[] Shared =
    [
        (0, "The hours are an average; what counts is that the last three drives went without a prompt from me."),
        (4, "Do not let the figure worry you. We look at roundabouts twice more and then at it again."),
        (16, "This fits what I see. Let us talk about the test day next time."),
    ];

    public async Task FillAsync(IReadOnlyList<Instructor> instructors, IReadOnlyList<DemoPupil> pupils)
    {
        clock.Now = now;
        var (approved, trainee, kept) = (instructors.Take(3).ToList(), instructors[3], 0);
        foreach (var (day, n) in (await DaysAsync(trainee)).Select((day, n) => (day, n)))
        {
            // Whoever has nothing of their own then; where all have, it is another day's.
            for (var who = 0; who < approved.Count && (5 * kept) + 2 <= n; who++)
            {
                var sponsor = approved[who];
                kept += (await DemoVerbs.TryAsync<KeepSupervision, SupervisedDay>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(
                    Viewer.Service, trainee.Id, new(day.Date, new(day.Minutes, sponsor.Id)), null, cancel))).Ok ? 1 : 0;
            }
        }

        foreach (var (number, sentence) in Shared)
        {
            var by = pupils[number].Instructor;
            var viewer = new Viewer(by.Id, OfficeParts.None, by.Id, null, by.Name);
            await DemoVerbs.DoAsync<ShareForecast, SharedForecast>(
                services, viewer, (verb, cancel) => verb.RunAsync(viewer, pupils[number].Pupil.Id, new(sentence), null, cancel));
        }
    }

    private async Task<List<(LocalDate Date, int Minutes)>> DaysAsync(Instructor trainee)
    {
        await using var scope = services.CreateAsyncScope();
        var taught = await scope.ServiceProvider.GetRequiredService<SchoolDb>().Set<Lesson>().AsNoTracking()
            .Where(l => l.InstructorId == trainee.Id && l.MinutesTaught != null).OrderBy(l => l.StartsAt).ToListAsync();
        return [.. taught.GroupBy(l => l.StartsAt.InZone(zone).Date).Select(day => (day.Key, day.Sum(l => l.MinutesTaught!.Value)))];
    }
}
