using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>Whose test days are whose: a pupil's own, those of an instructor's own pupils or diary, everything for the office.</summary>
internal sealed class TestDayAccess(SchoolDb db, PupilBook pupils)
{
    public IQueryable<TestDay> Visible(Viewer viewer)
    {
        var all = db.Set<TestDay>().AsQueryable();
        if (viewer.KeepsDiary)
        {
            return all;
        }

        if (viewer.InstructorId is not { } teaches)
        {
            return viewer.PupilId is { } learns ? all.Where(t => t.PupilId == learns) : all.Where(t => false);
        }

        // Asked within the statement: over the years they are many.
        var own = pupils.IdsOfInstructor(teaches);
        return viewer.PupilId is { } also
            ? all.Where(t => t.InstructorId == teaches || own.Contains(t.PupilId) || t.PupilId == also)
            : all.Where(t => t.InstructorId == teaches || own.Contains(t.PupilId));
    }

    /// <summary>Whether the viewer may enter a test day of this pupil: the pupil, their own instructor, whoever goes along, or who keeps the diary.</summary>
    public static bool MayEnterFor(Viewer viewer, PupilCard pupil, Guid? instructorId) =>
        viewer.KeepsDiary || viewer.PupilId == pupil.Id
        || (viewer.InstructorId is { } own && (pupil.UsualInstructorId == own || instructorId == own));
}

/// <summary>Adds a line to a test day's history in the transaction of the change.</summary>
internal sealed class TestDayHistory(SchoolDb db, IClock clock)
{
    public void Note(TestDay row, string words, Viewer viewer) => db.Add(new TestDayChange
    {
        TestDayId = row.Id,
        At = clock.GetCurrentInstant(),
        ByPersonId = viewer.PersonId,
        ByName = viewer.Name,
        Words = words,
    });
}
