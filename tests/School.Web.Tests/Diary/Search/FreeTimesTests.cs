using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Search;

/// <summary>How the free times of a week are laid out to choose from. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed partial class FreeTimesTests(TestPostgres postgres)
{
    /// <summary>A whole week is not so many equal buttons: a fold a day, and in it the parts of the day.</summary>
    [Fact]
    public async Task Free_times_stand_by_day_and_part_of_day_and_only_the_first_days_are_unfolded()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var pupil = await school.Host.PagesAsAsync(await school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.PupilId == school.PupilId)));
        var page = (await (await pupil.GetAsync("/diary/book")).Content.ReadAsStringAsync()).Split("All free times")[1];
        var days = page.Split("<details class=\"free-day\"")[1..];
        Assert.InRange(days.Length, 3, 7);
        Assert.StartsWith(" open", days[0], StringComparison.Ordinal);
        Assert.All(days[1..], day => Assert.StartsWith(">", day, StringComparison.Ordinal));
        foreach (var day in days)
        {
            var (morning, afternoon, evening) = (Starts(day, "Morning"), Starts(day, "Afternoon"), Starts(day, "Evening"));
            Assert.NotEmpty(afternoon);
            Assert.All(morning, start => Assert.True(string.CompareOrdinal(start, "12:00") < 0, start));
            Assert.All(afternoon, start => Assert.True(string.CompareOrdinal(start, "12:00") >= 0 && string.CompareOrdinal(start, "17:00") < 0, start));
            Assert.All(evening, start => Assert.True(string.CompareOrdinal(start, "17:00") >= 0, start));
            // Every time of the day stands under one of them.
            Assert.Equal(Start().Count(day), morning.Length + afternoon.Length + evening.Length);
        }
    }

    private static string[] Starts(string day, string part) =>
        [.. Start().Matches(day.Split($"<h3>{part}</h3>").ElementAtOrDefault(1)?.Split("</ul>")[0] ?? "").Select(start => start.Groups[1].Value)];

    [GeneratedRegex("<b>([0-9]{2}:[0-9]{2})</b>")]
    private static partial Regex Start();
}
