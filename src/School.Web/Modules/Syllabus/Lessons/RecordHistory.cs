using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>A record as it stood, and who left it so.</summary>
internal sealed record RecordAsItStood(Instant At, string By, RecordContent Content);

/// <summary>How a lesson's record came to say what it says.</summary>
internal sealed class RecordHistory(SchoolDb db, IClock clock)
{
    /// <summary>Adds the record as it stands now, in the transaction of the change.</summary>
    public void Note(Guid lessonId, RecordContent content, Viewer viewer) => db.Add(new LessonRecordChange
    {
        LessonId = lessonId,
        At = clock.GetCurrentInstant(),
        ByPersonId = viewer.PersonId,
        ByName = viewer.Name,
        Content = content.Write(),
    });

    /// <summary>Every state of the record, earliest first; the last is how it stands.</summary>
    public async Task<IReadOnlyList<RecordAsItStood>> ReadAsync(Guid lessonId, CancellationToken cancel)
    {
        var rows = await db.Set<LessonRecordChange>().AsNoTracking().Where(c => c.LessonId == lessonId).OrderBy(c => c.At).ThenBy(c => c.Id).ToListAsync(cancel);
        return rows.ConvertAll(row => new RecordAsItStood(row.At, row.ByName, RecordContent.Read(row.Content)));
    }
}
