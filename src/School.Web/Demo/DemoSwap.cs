using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Diary.Swaps;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Demo;

/// <summary>A swap of two lessons that is open: one pupil has agreed by phone, the other is asked.</summary>
internal sealed class DemoSwap(IServiceProvider services, DemoClock clock, Instant now)
{
    private const int MostTries = 6;

    private static readonly (Duration From, Duration Until) Ahead = (Duration.FromDays(4), Duration.FromDays(9));

    public async Task FillAsync()
    {
        clock.Now = now - Duration.FromMinutes(5);
        foreach (var (one, other) in await PairsAsync())
        {
            var planned = await DemoVerbs.TryAsync<PlanSwap, Proposal>(
                services, Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, new(one, other, [one]), cancel));
            if (planned.Ok && planned.Value.LinesOf().All(line => line.Act is ProposalAct.Move))
            {
                return;
            }

            if (planned.Ok)
            {
                await DemoVerbs.DoAsync<DropProposal, Proposal>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, planned.Value.Id, cancel));
            }
        }
    }

    /// <summary>Lessons of one instructor on one day, alike in kind and length, soonest first.</summary>
    private async Task<List<(Guid One, Guid Other)>> PairsAsync()
    {
        await using var scope = services.CreateAsyncScope();
        var (from, until) = (now + Ahead.From, now + Ahead.Until);
        var lessons = await scope.ServiceProvider.GetRequiredService<SchoolDb>().Set<Lesson>().AsNoTracking()
            .Where(l => l.State == LessonState.Booked && l.SeriesId == null && l.StartsAt > from && l.StartsAt < until).OrderBy(l => l.StartsAt).ThenBy(l => l.Id).ToListAsync();
        return
        [
            .. lessons.SelectMany((one, n) => lessons.Skip(n + 1)
                .Where(other => other.InstructorId == one.InstructorId && other.PupilId != one.PupilId && other.Kind == one.Kind && other.Minutes == one.Minutes
                    && other.StartsAt - one.StartsAt < Duration.FromHours(10))
                .Select(other => (one.Id, other.Id))).Take(MostTries),
        ];
    }
}
