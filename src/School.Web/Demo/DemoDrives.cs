using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Travel;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Demo;

/// <summary>Drives between the lessons taught, as instructors would have recorded them: slower than the usual settings in the rush, with
/// the ordinary scatter and now and then a forgotten tap, so that the fit has something to find.</summary>
internal sealed class DemoDrives(IServiceProvider services, DemoClock clock, DateTimeZone zone)
{
    private const int Seed = 20_041;
    private const double Scatter = 0.13;

    private static readonly StraightLineTravel Usual = new(new());

#pragma warning disable CA5394 // Chance in made-up data, the same every time, guards nothing.
    private readonly Random _chance = new(Seed);

    public async Task FillAsync(IReadOnlyList<Instructor> instructors)
    {
        foreach (var instructor in instructors)
        {
            var lessons = await TaughtAsync(instructor.Id);
            var viewer = new Viewer(instructor.Id, OfficeParts.None, instructor.Id, null, instructor.Name);
            foreach (var (before, after) in lessons.Zip(lessons.Skip(1)))
            {
                var left = before.EndsAt + Duration.FromMinutes(2);
                var arrived = left + Duration.FromSeconds(Math.Round(Minutes(before.DropOff, after.PickUp, left.InZone(zone).LocalDateTime) * 60));
                if (_chance.Next(4) > 0 && arrived > left && arrived < after.StartsAt)
                {
                    clock.Now = arrived;
                    await DemoVerbs.TryAsync<RecordLeg, RecordedDrive>(services, viewer, (verb, cancel) => verb.RunAsync(
                        viewer, instructor.Id, new(PlaceInput.Of(before.DropOff), PlaceInput.Of(after.PickUp), left, arrived), cancel));
                }
            }
        }
    }

    private double Minutes(Place from, Place to, LocalDateTime left)
    {
        var minutes = Usual.Between(from.At(), to.At(), left).Minutes;
        var town = left.Hour is (>= 7 and < 9) or (>= 15 and < 18) ? 1.3 : 1.1;
        var normal = Math.Sqrt(-2 * Math.Log(1 - _chance.NextDouble())) * Math.Cos(2 * Math.PI * _chance.NextDouble());
        var forgotten = _chance.Next(25) == 0 ? 2.5 : 1;
        return minutes * town * Math.Exp(Scatter * normal) * forgotten;
    }
#pragma warning restore CA5394

    private async Task<List<Lesson>> TaughtAsync(Guid instructorId)
    {
        await using var scope = services.CreateAsyncScope();
        return await scope.ServiceProvider.GetRequiredService<SchoolDb>().Set<Lesson>().AsNoTracking()
            .Where(l => l.InstructorId == instructorId && l.State == LessonState.Taught).OrderBy(l => l.StartsAt).ToListAsync();
    }
}
