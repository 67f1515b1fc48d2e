using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary;

internal sealed record RecordRequest(int MinutesTaught, string? Note = null);

/// <summary>Records what was taught. A record may be put right; the history keeps what stood before.</summary>
internal sealed class RecordLesson(SchoolDb db, LessonHistory history, IClock clock)
{
    public Task<Outcome<Lesson>> RunAsync(Guid lessonId, RecordRequest request, int? expectedVersion, Viewer viewer, CancellationToken cancel) =>
        db.InTransactionAsync<Lesson>(
            async cancel =>
            {
                var errors = new FieldErrors();
                var note = errors.ReadLines(nameof(request.Note), request.Note, Lesson.LongestNote);
                if (errors.ToRefusal() is { } invalid)
                {
                    return invalid;
                }

                var taken = await db.Set<Lesson>().VisibleTo(viewer).Where(_ => viewer.IsStaff).TakeAsync(lessonId, expectedVersion, "lesson", cancel);
                if (taken is not { Ok: true, Value: { } lesson })
                {
                    return taken;
                }

                var before = lesson.MinutesTaught is { } minutes ? $" Before: {minutes} minutes. {lesson.Note}" : "";
                if (lesson.Record(request.MinutesTaught, note, clock.GetCurrentInstant()) is { } refusal)
                {
                    return refusal;
                }

                history.Note(lesson, ChangeKind.Recorded, $"Taught, {request.MinutesTaught} minutes.{before}".TrimEnd(), viewer);
                return lesson;
            },
            cancel);
}
