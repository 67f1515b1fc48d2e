using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.TestDays;
using School.Core.Diary.Time;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>Until when a test can be changed with the fee kept, or from when the next one can be.</summary>
/// <param name="LastFreeDay">By the rule as it reads.</param>
/// <param name="SaferDay">One day earlier: what we advise.</param>
/// <param name="Over">Whether the last free day has passed.</param>
internal sealed record TestDeadline(LocalDate LastFreeDay, LocalDate SaferDay, bool Over, int NoticeDays);

/// <summary>The dates that follow from a test's, counted in the working days of the nation where the centre is.</summary>
internal sealed class TestDayDates(SchoolDb db, SchoolInfo school, IClock clock)
{
    public const string NoticeSource =
        "government release of 17 March 2025 (10 full working days); gov.uk/change-driving-test (Monday to Saturday count, Sundays and public holidays do not); 25 and 26 December and 1 January (in Scotland also 2 January and 30 November) are counted as holidays on a Saturday too, to be safe";

    public const string WhoBooksSource = "gov.uk/guidance/changes-to-driving-test-booking-rules-in-2026, read 25 November 2026";

    public const string RetestSource = "from memory, seen agreeing second-hand; look at gov.uk/book-driving-test";

    private readonly Dictionary<(Nation Nation, int Year), HashSet<LocalDate>> _holidays = [];
    private TestDaySettings? _settings;

    public async Task<TestDaySettings> SettingsAsync(CancellationToken cancel) =>
        _settings ??= await db.Set<TestDaySettings>().AsNoTracking().SingleAsync(cancel);

    public async Task<TestDeadline> DeadlineAsync(TestDay test, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var (date, notice) = (test.StartsAt.InZone(facts.Zone).Date, (await SettingsAsync(cancel)).NoticeDays);
        var holidays = await HolidaysAsync(test.Nation, date.Year - 1, date.Year, cancel);
        var last = WorkingDays.LastDayToChangeTest(date, notice, test.Nation, holidays);
        return new(last, last.PlusDays(-1), facts.Today(clock) > last, notice);
    }

    /// <summary>The first day for another test after a failed one; null where it was not failed.</summary>
    public async Task<LocalDate?> RetestFromAsync(TestDay test, CancellationToken cancel)
    {
        if (test.State is not TestDayState.Failed)
        {
            return null;
        }

        var date = test.StartsAt.InZone((await school.GetAsync(cancel)).Zone).Date;
        var holidays = await HolidaysAsync(test.Nation, date.Year, date.Year + 1, cancel);
        return PracticalTest.EarliestRetest(date, (await SettingsAsync(cancel)).RetestDays, test.Nation, holidays);
    }

    public async Task<bool> IsHolidayAsync(Nation nation, LocalDate date, CancellationToken cancel) =>
        WorkingDays.IsHoliday(date, nation, await HolidaysAsync(nation, date.Year, date.Year, cancel));

    /// <summary>The school's own list; by rule for a year for which it has none.</summary>
    private async Task<HashSet<LocalDate>> HolidaysAsync(Nation nation, int first, int last, CancellationToken cancel)
    {
        var all = new HashSet<LocalDate>();
        for (var year = first; year <= last; year++)
        {
            if (!_holidays.TryGetValue((nation, year), out var days))
            {
                var (slug, from, to) = (NationSlugs.Of(nation), new LocalDate(year, 1, 1), new LocalDate(year, 12, 31));
                days = [.. await db.Set<Holiday>().AsNoTracking().Where(h => h.Nation == slug && h.Date >= from && h.Date <= to).Select(h => h.Date).ToListAsync(cancel)];
                if (days.Count == 0 && year >= BankHolidays.FirstYear)
                {
                    days = [.. BankHolidays.Of(nation, year).Select(day => day.Date)];
                }

                _holidays[(nation, year)] = days;
            }

            all.UnionWith(days);
        }

        return all;
    }
}
