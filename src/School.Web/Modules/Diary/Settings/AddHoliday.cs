using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Settings;

internal sealed record HolidayRequest([property: Needed, Nation] string? Nation, LocalDate Date, [property: Needed, AtMost(AddHoliday.LongestName)] string? Name);

/// <summary>Adds a day to the school's own list of public holidays.</summary>
internal sealed class AddHoliday(SchoolDb db, Audit audit)
{
    public const int LongestName = 100;

    public async Task<Outcome<Holiday>> RunAsync(Viewer viewer, HolidayRequest request, CancellationToken cancel)
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
                audit.Note(viewer, "holiday.add", null, $"Added a bank holiday: {HolidayWords.Of(row)}.");
                return Task.FromResult<Outcome<Holiday>>(row);
            },
            cancel);
    }
}
