using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Settings;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Day;

/// <summary>What an instructor wants in reach between two lessons.</summary>
public sealed class KerbTests(TestPostgres postgres)
{
    [Fact]
    public async Task The_next_box_carries_brief_navigate_call_and_running_late_above_everything_else()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        var page = await (await browser.GetAsync("/diary/day")).TextAsync();
        var box = Regex.Match(page, "<ul class=\"glance.*?</ul>", RegexOptions.Singleline).Value;

        Assert.Contains($"href=\"/syllabus/lessons/{day.Tight.Id}/brief\"", box, StringComparison.Ordinal);
        Assert.Matches("href=\"geo:52\\.[0-9.]+,-?[0-9.]+\"", box);
        Assert.Matches("href=\"tel:\\+44[0-9]+\"", box);
        Assert.Contains("href=\"/diary/running-late?minutes=20\"", box, StringComparison.Ordinal);
        Assert.Contains("data-copy-text=\"41 Harbour Street, Larkfield", box, StringComparison.Ordinal);
        Assert.True(page.IndexOf("class=\"glance", StringComparison.Ordinal) < page.IndexOf("class=\"strip", StringComparison.Ordinal));
    }

    [Fact]
    public async Task The_map_that_the_school_chose_is_opened_and_a_link_that_is_none_is_refused()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var settings = await (await office.GetAsync("/diary/settings")).TextAsync();
        var fields = Regex.Matches(settings, "<input[^>]*name=\"(Input\\.[A-Za-z]+|Version)\"[^>]*>")
            .Where(field => !field.Value.Contains("radio", StringComparison.Ordinal) && !field.Value.Contains("checkbox", StringComparison.Ordinal))
            .Select(field => (field.Groups[1].Value, Regex.Match(field.Value, "value=\"([^\"]*)\"").Groups[1].Value))
            .Where(field => field.Item1 != "Input.MapLink" && field.Item1 != "Input.TellsLate").ToArray();
        var wrong = await (await office.PostFormAsync("/diary/settings", [.. fields, ("Input.MapLink", "javascript:{latitude}{longitude}"), ("Input.TellsLate", "Always")])).TextAsync();
        Assert.Contains("The map link must be an address that begins with https://", wrong, StringComparison.Ordinal);
        await office.PostFormAsync("/diary/settings", [.. fields, ("Input.MapLink", "https://maps.larkfield.example/?to={latitude},{longitude}"), ("Input.TellsLate", "Always")]);
        Assert.Equal(Core.Diary.LateTelling.Always, await host.WithDbAsync(db => db.Set<DiarySettings>().Select(s => s.Rules.TellsLate).SingleAsync()));

        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        var page = await (await browser.GetAsync("/diary/day")).TextAsync();
        Assert.Matches("href=\"https://maps\\.larkfield\\.example/\\?to=52\\.[0-9]+,-?[0-9.]+\"", page);
        Assert.DoesNotContain("geo:", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_is_past_and_recorded_is_folded_and_what_is_not_recorded_is_in_sight()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        var (past, rest) = await PartsAsync(browser, "/diary/day");
        host.Clock.Reset(LarkfieldMonday.At(8, 0));
        Assert.Empty((await PartsAsync(browser, "/diary/day?date=2026-03-04")).Past);
        host.Clock.Reset(LarkfieldMonday.At(10, 45));
        Assert.Contains("Earlier today: 1 stop", past, StringComparison.Ordinal);
        Assert.Contains("Tamsin Oakley", past, StringComparison.Ordinal);
        Assert.DoesNotContain("Tamsin Oakley", rest, StringComparison.Ordinal);
        Assert.Contains("Idris Bell", rest, StringComparison.Ordinal);

        host.Clock.Reset(LarkfieldMonday.At(11, 31));
        Assert.Contains("Record when parked", (await PartsAsync(browser, "/diary/day")).Left, StringComparison.Ordinal);
        // Nothing is folded on another day, nor where nothing else is left.
        Assert.Empty((await PartsAsync(browser, "/diary/day?date=2026-03-03")).Past);
        await RecordAllAsync(host, last: true);
        host.Clock.Reset(LarkfieldMonday.At(18, 0));
        Assert.Empty((await PartsAsync(browser, "/diary/day")).Past);
    }

    [Fact]
    public async Task A_rest_of_more_than_forty_minutes_is_free_and_time_off_without_a_reason_has_no_colon()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        await RecordAllAsync(host);
        host.Clock.Reset(LarkfieldMonday.At(15, 40));
        await host.AddAsync(new TimeOffRow { InstructorId = day.Marigold.Id, StartsAt = LarkfieldMonday.At(18, 0), EndsAt = LarkfieldMonday.At(19, 0), Reason = "" });
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        var page = await (await browser.GetAsync("/diary/day")).TextAsync();
        Assert.Contains("Free at Harbour Street", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Rest at Harbour Street", page, StringComparison.Ordinal);
        Assert.Contains("Off 18:00–19:00<", Regex.Replace(page, "\\s+<", "<"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_day_sheet_has_telephone_numbers_on_paper()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        var strip = (await PartsAsync(browser, "/diary/day")).Left;
        Assert.Matches("<span class=\"print-only\">Telephone 01632 [0-9]+</span>", strip);
    }

    private static async Task<(string Past, string Left)> PartsAsync(HttpClient browser, string url)
    {
        var page = await (await browser.GetAsync(url)).TextAsync();
        var past = Regex.Match(page, "<details class=\"other past\".*?</details>", RegexOptions.Singleline).Value;
        var rest = page[(page.IndexOf("class=\"glance", StringComparison.Ordinal) is var at and >= 0 ? at : 0)..];
        return (past, past.Length == 0 ? rest : rest.Replace(past, "", StringComparison.Ordinal));
    }

    private static Task<int> RecordAllAsync(SchoolHost host, bool last = false) => host.WithDbAsync(async db =>
    {
        foreach (var lesson in await db.Set<Lesson>().Where(l => l.StartsAt > LarkfieldMonday.At(10, 0) && l.StartsAt < LarkfieldMonday.At(12, 0)).ToListAsync())
        {
            lesson.Record(60, "", LarkfieldMonday.At(15, 0));
        }

        if (last)
        {
            foreach (var lesson in await db.Set<Lesson>().Where(l => l.StartsAt > LarkfieldMonday.At(15, 0)).ToListAsync())
            {
                lesson.Record(60, "", LarkfieldMonday.At(18, 0));
            }
        }

        return await db.SaveChangesAsync();
    });
}
