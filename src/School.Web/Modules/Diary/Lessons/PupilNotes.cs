using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Diary.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>What an instructor wants to know before a lesson and only earlier lessons can tell.</summary>
/// <param name="LastNote">By pupil: the sentence written at the last lesson before the day.</param>
/// <param name="FirstLessons">Lessons of the day before which the pupil had none.</param>
internal sealed record PupilNotes(IReadOnlyDictionary<Guid, string> LastNote, IReadOnlySet<Guid> FirstLessons);

internal sealed class PupilNotesReader(SchoolDb db)
{
    public async Task<PupilNotes> ReadAsync(IReadOnlyList<Lesson> lessons, CancellationToken cancel)
    {
        if (lessons.Count == 0)
        {
            return new(new Dictionary<Guid, string>(), new HashSet<Guid>());
        }

        var pupils = lessons.Select(l => l.PupilId).Distinct().ToArray();
        var dayBegins = lessons.Min(l => l.StartsAt);
        var dayEnds = lessons.Max(l => l.StartsAt);
        var notes = await db.Set<Lesson>().AsNoTracking()
            .Where(l => pupils.Contains(l.PupilId) && l.State == LessonState.Taught && l.StartsAt < dayBegins && l.Note != "")
            .GroupBy(l => l.PupilId)
            .Select(g => new { g.Key, g.OrderByDescending(l => l.StartsAt).First().Note }).ToDictionaryAsync(n => n.Key, n => n.Note, cancel);
        var firsts = await db.Set<Lesson>().AsNoTracking()
            .Where(l => pupils.Contains(l.PupilId) && l.StartsAt <= dayEnds && (l.State == LessonState.Taught || l.State == LessonState.Booked))
            .GroupBy(l => l.PupilId).Select(g => new { g.Key, At = g.Min(l => l.StartsAt) }).ToDictionaryAsync(f => f.Key, f => f.At, cancel);
        return new(notes, lessons.Where(l => firsts.TryGetValue(l.PupilId, out var at) && at == l.StartsAt).Select(l => l.Id).ToHashSet());
    }
}
