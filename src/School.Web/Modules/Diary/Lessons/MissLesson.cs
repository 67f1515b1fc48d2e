using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.Lessons;

internal sealed record MissRequest(string? Note = null, bool Waive = false);

/// <summary>Records that the pupil was not there.</summary>
internal sealed class MissLesson(SchoolDb db, LessonHistory history, IClock clock)
{
    public Task<Outcome<Lesson>> RunAsync(Guid lessonId, MissRequest request, int? expectedVersion, Viewer viewer, CancellationToken cancel) =>
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

                var decision = request.Waive ? CancelPolicy.OfMissedWaived : CancelPolicy.OfMissed;
                if (lesson.Miss(note, decision.Chargeable, decision.Policy, clock.GetCurrentInstant()) is { } refusal)
                {
                    return refusal;
                }

                history.Note(lesson, ChangeKind.Missed, $"Missed. {(decision.Chargeable ? "To be charged" : "Not charged")}: {decision.Policy}", viewer);
                return lesson;
            },
            cancel);
}
