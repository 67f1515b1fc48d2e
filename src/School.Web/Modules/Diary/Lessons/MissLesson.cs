using Microsoft.EntityFrameworkCore;
using School.Core;
using School.Core.Diary.Charges;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>A word to the pupil, whether the charge is let pass, and, where it was told, what it comes to.</summary>
internal sealed record MissRequest([property: AtMost(Lesson.LongestNote)] string? Note = null, bool Waive = false, ChargeCode? Charge = null);

/// <summary>Records that the pupil was not there.</summary>
internal sealed class MissLesson(SchoolDb db, ChangeLessons changes)
{
    public async Task<Outcome<Lesson>> RunAsync(Viewer viewer, Guid id, MissRequest request, int? expected, CancellationToken cancel)
    {
        var errors = new FieldErrors();
        var note = errors.ReadLines(nameof(request.Note), request.Note, Lesson.LongestNote);
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        return await db.InTransactionAsync<Lesson>(
            async cancel =>
            {
                var taken = await db.Set<Lesson>().KeptBy(viewer).TakeAsync(id, expected, "lesson", cancel);
                return taken is { Ok: true, Value: { } lesson } ? await changes.MissAsync(viewer, lesson, note, request.Waive, cancel, request.Charge) : taken;
            },
            cancel);
    }
}
