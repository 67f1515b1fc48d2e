using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;

namespace School.Web.Tests.Host;

/// <summary>The Monday of a school in which everybody teaches four lessons: it is 12:20, the second is taught and the third is on.</summary>
internal static class FullBoard
{
    private static readonly string[] First =
        ["Marigold", "Rowan", "Hester", "Edwin", "Joss", "Sable", "Pip", "Odette", "Alder", "Bryony", "Corin", "Delphine", "Fern", "Hale", "Idris"];

    private static readonly string[] Last =
        ["Ashby", "Tilbury", "Vane", "Thackeray-Moss", "Penhallow", "Kinnear", "Lanyon", "Marlow", "Quince", "Tallis", "Vale", "Roe", "Oakley", "Brook", "Bell"];

    private static readonly (int Hour, int Minute, int Minutes)[] Day = [(8, 30, 60), (10, 0, 90), (12, 0, 60), (15, 0, 90)];

    public static string Name(int n) => $"{First[n % First.Length]} {Last[(n + n / First.Length) % Last.Length]}";

    /// <summary>The second of eight is off in the afternoon while a lesson stands in it.</summary>
    public static async Task SeedAsync(SchoolHost host, int instructors)
    {
        host.Clock.Reset(LarkfieldMonday.At(12, 20));
        for (var n = 0; n < instructors; n++)
        {
            var instructor = await host.Data.InstructorAsync(Name(n), TestData.PlaceAt(n % 7, n % 5, "Larkfield Green"));
            var car = await host.WithDbAsync(db => db.Set<Car>().AsNoTracking().OrderByDescending(c => c.Id).FirstAsync());
            var pupil = await host.Data.PupilAsync($"{First[(n + 4) % First.Length]} {Last[(n + 9) % Last.Length]}", TestData.PlaceAt(n % 5, 6, "Harbour Street"), instructor.Id);
            await host.AddAsync([.. Day.Select((lesson, at) => Given(host, instructor, car.Id, pupil, lesson, taught: at < 2))]);
            if (n == 1)
            {
                await host.AddAsync(new TimeOffRow { InstructorId = instructor.Id, StartsAt = LarkfieldMonday.At(14, 0), EndsAt = LarkfieldMonday.At(18, 0), Reason = "first-aid day" });
            }
        }
    }

    private static Lesson Given(SchoolHost host, Instructor instructor, Guid car, Modules.Pupils.Pupil pupil, (int Hour, int Minute, int Minutes) at, bool taught)
    {
        var start = LarkfieldMonday.At(at.Hour, at.Minute);
        var lesson = Lesson.Book(
            pupil.Id, instructor.Id, car, new(start, start + Duration.FromMinutes(at.Minutes)), pupil.PickUp, pupil.PickUp, start - Duration.FromDays(9));
        if (taught)
        {
            lesson.Record(at.Minutes, "", host.Clock.GetCurrentInstant());
        }

        return lesson;
    }
}
