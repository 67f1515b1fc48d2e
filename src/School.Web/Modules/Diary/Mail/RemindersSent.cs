using System.Globalization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Mail;

/// <summary>Keeps with a lesson that its reminder went, provided the lesson is still as the reminder told it.</summary>
internal sealed class RemindersSent(SchoolDb db) : IHeedSent
{
    public string Kind => LessonMail.Reminder;

    public async Task WentAsync(Guid aboutId, string key, Instant at, CancellationToken cancel)
    {
        if (int.TryParse(key.Split(':').ElementAtOrDefault(2), CultureInfo.InvariantCulture, out var sequence))
        {
            await db.AloneAsync(
                () => db.Set<Lesson>().Where(l => l.Id == aboutId && l.Sequence == sequence)
                    .ExecuteUpdateAsync(set => set.SetProperty(l => l.RemindedAt, (Instant?)at), cancel),
                cancel);
        }
    }
}
