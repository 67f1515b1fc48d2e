using System.Globalization;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Core.Cars;
using School.Tests;
using School.Web.Modules.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Lessons;

/// <summary>A few busy weeks, drawn from a seed: whatever was allowed must leave every day possible and every lesson explained.</summary>
public sealed class ManyChangesTests(TestPostgres postgres)
{
    private const int Changes = 2000;
    private const int Workers = 4;
    private const int Seed = 20260302;
    private static readonly Duration Quarter = Duration.FromMinutes(15);

    private readonly List<Guid> _pupils = [];
    private readonly List<Guid> _instructors = [];

    [Fact]
    public async Task Two_thousand_bookings_moves_and_cancellations_leave_no_overlap_and_nothing_impossible()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var second = host.SecondNode();
        var random = new Random(Seed);
        foreach (var name in new[] { "Marigold Ashby", "Basil Thornby", "Hazel Wren" })
        {
            _instructors.Add((await host.Data.InstructorAsync(name, Somewhere(random), Gearbox.Manual, Gearbox.Automatic)).Id);
        }

        for (var i = 0; i < 24; i++)
        {
            _pupils.Add((await host.Data.PupilAsync($"Pupil {i}", Somewhere(random), gearbox: i % 4 == 0 ? Gearbox.Automatic : Gearbox.Manual)).Id);
        }

        var done = await Task.WhenAll(Enumerable.Range(0, Workers).Select(w => WorkAsync(w % 2 == 0 ? host : second, new Random(Seed + w))));
        Assert.True(done.Sum(d => d.Booked) > 100, $"only {done.Sum(d => d.Booked)} booked");
        Assert.True(done.Sum(d => d.Moved) > 50, $"only {done.Sum(d => d.Moved)} moved");
        Assert.True(done.Sum(d => d.Cancelled) > 50, $"only {done.Sum(d => d.Cancelled)} cancelled");

        var overlaps = await host.WithDbAsync(db => db.Database.SqlQuery<int>(
            $"""
             SELECT count(*)::int AS "Value" FROM diary.lessons a JOIN diary.lessons b ON a.id < b.id
             AND a.state <> 'Cancelled' AND b.state <> 'Cancelled' AND a.starts_at < b.ends_at AND b.starts_at < a.ends_at
             AND (a.instructor_id = b.instructor_id OR a.pupil_id = b.pupil_id OR a.car_id = b.car_id)
             """).SingleAsync());
        Assert.Equal(0, overlaps);

        await using var scope = host.Services.CreateAsyncScope();
        Assert.Empty(await scope.ServiceProvider.GetRequiredService<DiaryCheck>().FindAsync(null, CancellationToken.None));
        await EveryLessonIsExplainedAsync(host, done);
    }

    private async Task<Tally> WorkAsync(SchoolHost node, Random random)
    {
        var tally = new Tally();
        for (var i = 0; i < Changes / Workers; i++)
        {
            await using var scope = node.Services.CreateAsyncScope();
            var services = scope.ServiceProvider;
            var start = Instant.FromUtc(2026, 3, 3, 8, 0) + Duration.FromDays(random.Next(14)) + (random.Next(40) * Quarter);
            var known = tally.Known.Count == 0 ? Guid.Empty : tally.Known[random.Next(tally.Known.Count)];
            Outcome<Lesson> outcome;
            switch (random.Next(10))
            {
                case < 5:
                    var request = new BookRequest(Any(_pupils, random), Any(_instructors, random), start, random.Next(1, 4) * 30);
                    outcome = await services.GetRequiredService<BookLesson>().RunAsync(Viewer.Service, request, CancellationToken.None);
                    tally.Booked += tally.IsChange(outcome) ? 1 : 0;
                    tally.Known.AddRange(outcome.Ok ? [outcome.Value.Id] : []);
                    break;
                case < 8:
                    var move = new MoveRequest(start, random.Next(2) == 0 ? Any(_instructors, random) : null);
                    outcome = await services.GetRequiredService<MoveLesson>().RunAsync(Viewer.Service, known, move, null, CancellationToken.None);
                    tally.Moved += tally.IsChange(outcome) ? 1 : 0;
                    break;
                default:
                    var reason = new CancelRequest((CancelReason)random.Next(5));
                    outcome = await services.GetRequiredService<CancelLesson>().RunAsync(Viewer.Service, known, reason, null, CancellationToken.None);
                    tally.Cancelled += tally.IsChange(outcome) ? 1 : 0;
                    break;
            }

            Assert.True(outcome.Ok || outcome.Refusal.Kind is RefusalKind.Conflict or RefusalKind.Rule or RefusalKind.NotFound, outcome.Refusal?.Code);
        }

        return tally;
    }

    private static async Task EveryLessonIsExplainedAsync(SchoolHost host, Tally[] done)
    {
        var lessons = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().ToListAsync());
        var history = (await host.WithDbAsync(db => db.Set<LessonChange>().AsNoTracking().OrderBy(c => c.Id).ToListAsync())).ToLookup(c => c.LessonId);
        Assert.Equal(done.Sum(d => d.Booked), lessons.Count);
        Assert.Equal(done.Sum(d => d.Booked + d.Moved + d.Cancelled), history.Sum(h => h.Count()));
        foreach (var lesson in lessons)
        {
            var told = history[lesson.Id].ToList();
            var last = told.MaxBy(c => c.At)!;
            Assert.Equal(lesson.Sequence, told.Count - 1);
            Assert.Single(told, c => c.Kind == ChangeKind.Booked);
            Assert.Equal(lesson.State == LessonState.Cancelled, told.Exists(c => c.Kind == ChangeKind.Cancelled));
            Assert.Contains(told, c => c.StartsAt == lesson.StartsAt && c.InstructorId == lesson.InstructorId);
            Assert.NotEmpty(last.Words);
        }
    }

    private static Guid Any(List<Guid> ids, Random random) => ids[random.Next(ids.Count)];

    private static Place Somewhere(Random random) =>
        TestData.PlaceAt(random.Next(-25, 25), random.Next(-25, 25), string.Create(CultureInfo.InvariantCulture, $"Lane {random.Next(90)}"));

    private sealed class Tally
    {
        private readonly HashSet<(Guid Lesson, int Sequence)> _seen = [];

        /// <summary>A lesson that is moved to the time it already has stays as it is.</summary>
        public bool IsChange(Outcome<Lesson> outcome) => outcome.Ok && _seen.Add((outcome.Value.Id, outcome.Value.Sequence));

        public int Booked { get; set; }

        public int Moved { get; set; }

        public int Cancelled { get; set; }

        public List<Guid> Known { get; } = [];
    }
}
