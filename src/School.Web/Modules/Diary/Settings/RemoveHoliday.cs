using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Settings;

internal sealed record HolidayKey(string Nation, LocalDate Date);

/// <summary>Takes a day off the school's own list of public holidays.</summary>
internal sealed class RemoveHoliday(SchoolDb db, Audit audit)
{
    public Task<Outcome<Holiday>> RunAsync(Viewer viewer, HolidayKey key, CancellationToken cancel) => db.InTransactionAsync<Holiday>(
        async cancel =>
        {
            if (await db.Set<Holiday>().SingleOrDefaultAsync(h => h.Nation == key.Nation && h.Date == key.Date, cancel) is not { } row)
            {
                return Refusal.NotFound("holiday");
            }

            db.Remove(row);
            audit.Note(viewer, "holiday.remove", null, $"Removed a bank holiday: {HolidayWords.Of(row)}.");
            return row;
        },
        cancel);
}

internal static class HolidayWords
{
    public static string Of(Holiday row) => $"{row.Name}, {ScreenWords.DayAndYear(row.Date)}, {row.Nation.Replace('-', ' ')}";
}
