using NodaTime;
using School.Web.Modules.Syllabus.Practice;
using School.Web.Platform.Access;

namespace School.Web.Demo;

/// <summary>Drives between lessons with family and friends, as some of the pupils logged them.</summary>
internal sealed class DemoPractice(IServiceProvider services, DemoClock clock, Instant now, DateTimeZone zone)
{
    private const int Weeks = 8;

    private static readonly string[] Beside = ["My mother", "Aunt Sorrel", "My brother Corin", "Grandfather Bell"];

    private static readonly PracticeCondition[][] Kinds =
    [
        [PracticeCondition.QuietStreets], [PracticeCondition.Town, PracticeCondition.HeavyTraffic], [PracticeCondition.Country],
        [PracticeCondition.Town, PracticeCondition.Rain], [PracticeCondition.FastRoads], [PracticeCondition.QuietStreets, PracticeCondition.Dark],
    ];

    private static readonly string[][] Skills = [["mirrors", "signals"], [], ["use-of-speed"], ["junctions"], [], ["driving-in-the-dark"]];

    public async Task FillAsync(IReadOnlyList<DemoPupil> pupils)
    {
        var today = now.InZone(zone).Date;
        foreach (var pupil in pupils.Where(pupil => pupil.Number % 3 == 0))
        {
            var viewer = new Viewer(pupil.Pupil.Id, OfficeParts.None, null, pupil.Pupil.Id, pupil.Pupil.Name);
            for (var week = Weeks; week > pupil.Number % 4; week--)
            {
                var kind = (week + pupil.Number) % Kinds.Length;
                var on = today.PlusWeeks(-week).PlusDays(pupil.Number % 5);
                clock.Now = Instant.Min(now, (on + new LocalTime(20, 15)).InZoneLeniently(zone).ToInstant());
                await DemoVerbs.DoAsync<AddPractice, PrivatePractice>(services, viewer, (add, cancel) => add.RunAsync(
                    viewer, pupil.Pupil.Id, new(new(on, 30 + (15 * ((week + pupil.Number) % 4)), Beside[pupil.Number % Beside.Length], Kinds[kind], Skills[kind])), cancel));
            }
        }

        clock.Now = now;
    }
}
