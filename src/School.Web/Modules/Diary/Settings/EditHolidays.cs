using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Settings;

internal sealed record HolidayRequest([property: Needed] string? Nation, LocalDate Date, [property: Needed, AtMost(EditHolidays.LongestName)] string? Name);

/// <summary>The school's own list of public holidays.</summary>
internal sealed class EditHolidays(SchoolDb db, Audit audit, Viewer viewer)
{
    public const int LongestName = 100;

    public async Task<Outcome<Holiday>> AddAsync(HolidayRequest request, CancellationToken cancel)
    {
        var errors = new FieldErrors()
            .When(!NationSlugs.Knows(request.Nation ?? ""), nameof(request.Nation), $"Choose one of {string.Join(", ", NationSlugs.All)}.")
            .WrongYear(nameof(request.Date), request.Date);
        var name = errors.ReadLine(nameof(request.Name), request.Name, LongestName, "Enter the name of the holiday.");
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        return await db.InTransactionAsync<Holiday>(
            _ =>
            {
                var row = new Holiday { Nation = request.Nation!, Date = request.Date, Name = name };
                db.Add(row);
                audit.Note(viewer, "holiday.add", null, $"Added a bank holiday: {Words(row)}.");
                return Task.FromResult<Outcome<Holiday>>(row);
            },
            cancel);
    }

    public Task<Outcome<Holiday>> RemoveAsync(string nation, LocalDate date, CancellationToken cancel) => db.InTransactionAsync<Holiday>(
        async cancel =>
        {
            if (await db.Set<Holiday>().SingleOrDefaultAsync(h => h.Nation == nation && h.Date == date, cancel) is not { } row)
            {
                return Refusal.NotFound("holiday");
            }

            db.Remove(row);
            audit.Note(viewer, "holiday.remove", null, $"Removed a bank holiday: {Words(row)}.");
            return row;
        },
        cancel);

    private static string Words(Holiday row) => $"{row.Name}, {ScreenWords.DayAndYear(row.Date)}, {row.Nation.Replace('-', ' ')}";
}
