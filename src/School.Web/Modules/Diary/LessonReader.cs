using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary;

/// <summary>A lesson as the record pages show it.</summary>
internal sealed record LessonSheet(Lesson Lesson, PupilCard Pupil, SchoolFacts School)
{
    /// <summary>"Tuesday 3 March, 10:00 to 11:00".</summary>
    public string When => School.When(Lesson.During);

    /// <summary>The day that the lesson stands on.</summary>
    public string DayAddress(Viewer viewer)
    {
        var date = $"/diary/day?date={Lesson.StartsAt.InZone(School.Zone).Date:uuuu-MM-dd}";
        return viewer.InstructorId == Lesson.InstructorId ? date : $"{date}&instructorId={Lesson.InstructorId}";
    }
}

internal sealed class LessonReader(SchoolDb db, PupilBook pupils, SchoolInfo school, Viewer viewer)
{
    public async Task<LessonSheet?> FindAsync(Guid id, CancellationToken cancel)
    {
        if (await db.Set<Lesson>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(l => l.Id == id, cancel) is not { } lesson)
        {
            return null;
        }

        var cards = await pupils.CardsAsync([lesson.PupilId], cancel);
        return new(lesson, cards[lesson.PupilId], await school.GetAsync(cancel));
    }
}
