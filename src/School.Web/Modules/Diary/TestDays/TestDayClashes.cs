using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>What stands in the way of a test day, as the API tells it.</summary>
internal sealed record ClashItem(string Kind, Guid Id, Instant Start, Instant End, string PupilName);

/// <summary>Names the lessons and test days that take the time a test day needs.</summary>
internal sealed class TestDayClashes(SchoolDb db, PupilBook pupils, InstructorBook instructors, SchoolInfo school)
{
    /// <summary>Member of the problem document that holds them, a list of <see cref="ClashItem"/>.</summary>
    public const string InTheWayMember = "inTheWay";

    private static readonly Duration LongestLesson = Lesson.Longest;

    /// <summary>A refusal that names them, or null when the time is free. Right only under the locks.</summary>
    public async Task<Refusal?> FindAsync(TestDay test, CancellationToken cancel)
    {
        var earliest = test.BlockedFrom - LongestLesson;
        var lessons = await db.Set<Lesson>().AsNoTracking()
            .Where(l => l.State != LessonState.Cancelled && l.StartsAt > earliest && l.StartsAt < test.BlockedUntil && l.EndsAt > test.BlockedFrom
                && (l.PupilId == test.PupilId || l.InstructorId == test.InstructorId || l.CarId == test.CarId))
            .Select(l => new { Kind = "lesson", l.Id, l.PupilId, InstructorId = (Guid?)l.InstructorId, l.StartsAt, l.EndsAt }).ToListAsync(cancel);
        var tests = await db.Set<TestDay>().AsNoTracking()
            .Where(t => t.Id != test.Id && t.State != TestDayState.TakenOff && t.BlockedFrom < test.BlockedUntil && t.BlockedUntil > test.BlockedFrom
                && (t.PupilId == test.PupilId || (t.InstructorId != null && t.InstructorId == test.InstructorId) || (t.CarId != null && t.CarId == test.CarId)))
            .Select(t => new { Kind = "test", t.Id, t.PupilId, t.InstructorId, StartsAt = t.BlockedFrom, EndsAt = t.BlockedUntil }).ToListAsync(cancel);
        var all = lessons.Concat(tests).OrderBy(e => e.StartsAt).ToList();
        if (all.Count == 0)
        {
            return null;
        }

        var (facts, names, teachers) = (await school.GetAsync(cancel), await pupils.CardsAsync(all.Select(e => e.PupilId), cancel), await instructors.NamesAsync(cancel));
        var named = all.Select(e =>
            $"{(e.Kind == "lesson" ? "the lesson of" : "the test day of")} {names[e.PupilId].Name}{(e.InstructorId is { } id ? $" with {teachers[id]}" : "")}, {facts.When(new(e.StartsAt, e.EndsAt))}");
        return Refusal.Conflict(
            "time_taken",
            $"The time kept for the test ({facts.When(test.Blocked)}) overlaps {string.Join("; ", named)}. Move or cancel {(all.Count == 1 ? "it" : "them")} first, or keep less time around the test.") with
        {
            More = new Dictionary<string, object?>
            {
                [InTheWayMember] = all.Select(e => new ClashItem(e.Kind, e.Id, e.StartsAt, e.EndsAt, names[e.PupilId].Name)).ToList(),
            },
        };
    }
}
