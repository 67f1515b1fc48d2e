using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Web.Modules.Diary.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Syllabus.Lessons;

internal sealed record ReflectionRequest([property: AtMost(LessonRecord.LongestText)] string? Reflection = null);

/// <summary>
/// Keeps the pupil's own words about a lesson. Only the pupil writes them, so nobody else can be in the way, and the lesson keeps
/// its version: an instructor who has the record open meanwhile loses nothing.
/// </summary>
internal sealed class ReflectOnLesson(SchoolDb db, LessonRecording lessons, SyllabusBook syllabus, RecordHistory history, IClock clock)
{
    public Task<Outcome<LessonSheet>> RunAsync(Viewer viewer, Guid lessonId, ReflectionRequest request, int? expected, CancellationToken cancel) =>
        db.InTransactionAsync<LessonSheet>(
            async cancel =>
            {
                await db.LockAsync([LessonRecord.LockOf(lessonId)], cancel);
                if (await lessons.FindAsync(lessonId, viewer, cancel) is not { } lesson || lesson.PupilId != viewer.PupilId)
                {
                    return Refusal.NotFound("lesson");
                }

                if (expected is { } version && version != lesson.Version)
                {
                    return Refusal.Stale;
                }

                if (lesson.State is not LessonState.Taught)
                {
                    return Refusal.Rule("lesson_not_taught", "This lesson is not recorded as taught, so there is nothing to look back on yet.");
                }

                var errors = new FieldErrors();
                var words = errors.ReadLines(nameof(request.Reflection), request.Reflection, LessonRecord.LongestText);
                if (errors.ToRefusal() is { } invalid)
                {
                    return invalid;
                }

                var now = clock.GetCurrentInstant();
                var record = await db.Set<LessonRecord>().SingleOrDefaultAsync(r => r.LessonId == lessonId, cancel);
                if (record is null)
                {
                    record = new()
                    {
                        LessonId = lessonId,
                        PupilId = lesson.PupilId,
                        Edition = (await syllabus.CurrentAsync(cancel)).Number,
                        RecordedAt = now,
                        RecordedBy = viewer.PersonId,
                    };
                    db.Add(record);
                }

                if (record.Reflection != words)
                {
                    (record.Reflection, record.ReflectedAt) = (words, words.Length == 0 ? null : now);
                    history.Note(lessonId, RecordContent.Of(lesson, record), viewer);
                }

                return lesson;
            },
            cancel);
}
