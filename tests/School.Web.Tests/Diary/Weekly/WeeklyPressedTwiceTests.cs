using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Weekly;

/// <summary>The pages of weekly lessons where a button is pressed twice, or the lessons have changed since the page was opened.</summary>
public sealed class WeeklyPressedTwiceTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);
    private static readonly Instant[] FourThursdays = [Thursday10, London(2026, 3, 12, 10), London(2026, 3, 19, 10), London(2026, 3, 26, 10)];

    [Fact]
    public async Task A_button_of_the_weekly_pages_that_is_pressed_twice_does_its_work_once()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var browser = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        var lesson = await TwiceAsync(browser, Address(school), "/diary/weekly", Fields(school));
        Assert.Equal(FourThursdays, await StartsAsync(school));

        // The first stays: whoever goes by it a second time would move the others on once more.
        var ids = await IdsAsync(school);
        var move = $"{lesson}/following/move";
        Assert.Equal(lesson, await TwiceAsync(
            browser, $"{move}?first=2026-03-06&time=11:00", move,
            [
                ("first", "2026-03-06"), ("time", "11:00"), .. ids.Skip(1).Select(id => ("only", $"{id}")),
                .. ids.Select((id, at) => ($"seen[{id}]", Text(FourThursdays[at]))),
            ]));
        Assert.Equal([Thursday10, London(2026, 3, 13, 11), London(2026, 3, 20, 11), London(2026, 3, 27, 11)], await StartsAsync(school));
        Assert.Equal([0, 1, 1, 1], await school.Host.WithDbAsync(db => db.Set<Lesson>().OrderBy(l => l.StartsAt).Select(l => l.Sequence).ToListAsync()));

        var cancel = $"{lesson}/following/cancel";
        Assert.Equal(lesson, await TwiceAsync(browser, $"{cancel}?reason=Weather", cancel, [("reason", "Weather"), ("charged", "0")]));
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<Lesson>().CountAsync(l => l.State == LessonState.Booked)));
    }

    [Fact]
    public async Task Weekly_lessons_that_were_moved_after_the_page_was_opened_are_not_moved_by_it()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var browser = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        await browser.PostFormAsync(Address(school), "/diary/weekly", Fields(school));
        var ids = await IdsAsync(school);
        await (await school.Office.MoveAsync(ids[2], London(2026, 3, 18, 9))).JsonAsync();
        var move = $"/diary/lessons/{ids[0]}/following/move";
        var stale = await browser.PostFormAsync(
            $"{move}?first=2026-03-06&time=11:00", move,
            [
                ("first", "2026-03-06"), ("time", "11:00"), .. ids.Select(id => ("only", $"{id}")),
                .. ids.Select((id, at) => ($"seen[{id}]", Text(FourThursdays[at]))),
            ]);
        Assert.Contains("Somebody changed one of these lessons a moment ago", await stale.TextAsync());
        Assert.Equal([Thursday10, FourThursdays[1], London(2026, 3, 18, 9), FourThursdays[3]], await StartsAsync(school));
    }

    /// <summary>Sends the form of one page twice; where the second answer leads to.</summary>
    private static async Task<string> TwiceAsync(HttpClient browser, string page, string to, (string, string)[] fields)
    {
        var token = await browser.FormTokenAsync(page);
        var form = fields.Append(("__RequestVerificationToken", token)).Select(f => KeyValuePair.Create(f.Item1, f.Item2)).ToList();
        var once = await browser.PostAsync(to, new FormUrlEncodedContent(form));
        Assert.Equal(HttpStatusCode.Redirect, once.StatusCode);
        var twice = await browser.PostAsync(to, new FormUrlEncodedContent(form));
        Assert.True(twice.StatusCode == HttpStatusCode.Redirect, await twice.TextAsync());
        Assert.Equal(once.Headers.Location, twice.Headers.Location);
        return twice.Headers.Location!.OriginalString;
    }

    private static string Address(SmallSchool school) =>
        $"/diary/weekly?pupil={school.PupilId}&with={school.InstructorId}&first=2026-03-05&time=10:00&weeks=4&minutes=60";

    private static (string, string)[] Fields(SmallSchool school) =>
    [
        ("pupil", $"{school.PupilId}"), ("with", $"{school.InstructorId}"), ("first", "2026-03-05"), ("time", "10:00"), ("weeks", "4"), ("minutes", "60"),
        .. FourThursdays.Select(s => ("starts", Text(s))),
    ];

    private static Task<List<Guid>> IdsAsync(SmallSchool school) =>
        school.Host.WithDbAsync(db => db.Set<Lesson>().OrderBy(l => l.StartsAt).Select(l => l.Id).ToListAsync());

    private static Task<List<Instant>> StartsAsync(SmallSchool school) =>
        school.Host.WithDbAsync(db => db.Set<Lesson>().OrderBy(l => l.StartsAt).Select(l => l.StartsAt).ToListAsync());
}
