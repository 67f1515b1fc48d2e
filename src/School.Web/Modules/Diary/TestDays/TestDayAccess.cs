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
        switch (viewer.Role)
        {
            case Role.Office:
                return all;
            case Role.Pupil:
                return all.Where(t => t.PupilId == viewer.PupilId);
            default:
                // Asked within the statement: over the years they are many.
                var own = pupils.IdsOfInstructor(viewer.InstructorId!.Value);
                return all.Where(t => t.InstructorId == viewer.InstructorId || own.Contains(t.PupilId));
        }
    }

    /// <summary>Whether the viewer may enter a test day of this pupil: their own instructor, or whoever goes along.</summary>
    public static bool MayEnterFor(Viewer viewer, PupilCard pupil, Guid? instructorId) =>
        viewer.Role != Role.Instructor || pupil.UsualInstructorId == viewer.InstructorId || instructorId == viewer.InstructorId;
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
