using NodaTime;
using School.Web.Modules.Diary.Lessons;

namespace School.Web.Tests.Host;

internal static class LessonsAhead
{
    /// <summary>A car with so many booked lessons to come, one a day; its id and how many they are.</summary>
    public static async Task<(Guid Car, int Lessons)> WithLessonsAheadAsync(this SchoolHost host, int count, Guid? pupilId = null)
    {
        var instructor = await host.Data.InstructorAsync();
        var car = await host.Data.CarAsync();
        var pupil = pupilId ?? (await host.Data.PupilAsync()).Id;
        var now = host.Clock.GetCurrentInstant();
        for (var n = 1; n <= count; n++)
        {
            var start = now + Duration.FromDays(n);
            await host.AddAsync(Lesson.Book(pupil, instructor.Id, car.Id, new(start, start + Duration.FromHours(1)), TestData.PlaceAt(), TestData.PlaceAt(), now));
        }

        return (car.Id, count);
    }
}
