using Microsoft.EntityFrameworkCore;
using School.Core.Diary.Time;
using School.Web.Modules.Diary.Settings;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary;

internal sealed class DiaryDefaults : IModuleDefaults
{
    public async Task AddMissingAsync(SchoolDb db, CancellationToken cancel)
    {
        if (!await db.Set<DiarySettings>().AnyAsync(cancel))
        {
            db.Add(new DiarySettings { Id = DiarySettings.Only, Rules = new() });
        }

        // Only into an empty list: a day that the school struck out must not come back.
        if (!await db.Set<Holiday>().AnyAsync(cancel))
        {
            db.AddRange(ShippedHolidays());
        }
    }

    private static IEnumerable<Holiday> ShippedHolidays()
    {
        using var reader = new StreamReader(typeof(DiaryDefaults).Assembly.GetManifestResourceStream("gb-bank-holidays.json")!);
        return BankHolidayFile.Read(reader.ReadToEnd()).Select(day => new Holiday
        {
            Nation = NationSlugs.Of(day.Nation),
            Date = day.Date,
            Name = BankHolidays.Of(day.Nation, day.Date.Year).First(rule => rule.Date == day.Date).Name,
        });
    }
}
