using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Settings;

public sealed class KindsTests(TestPostgres postgres)
{
    private const string Path = "/api/v1/lesson-kinds";

    [Fact]
    public async Task There_are_seven_kinds_and_a_pupil_sees_those_that_the_school_gives_and_shows()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal(
            ["standard", "assessment", "refresher", "motorway", "testDay", "intensive", "mock"],
            (await school.Office.GetJsonAsync(Path)).GetProperty("items").EnumerateArray().Select(kind => kind.Word("kind")));
        await SavedAsync(school.Office, Kind("assessment", "First drive", [60], pupilsBook: true), Kind("refresher", "Refresher", offered: false), Kind("mock", "Mock test", pupilsSee: false));
        var seen = (await school.Pupil.GetJsonAsync(Path)).GetProperty("items").EnumerateArray().ToList();
        Assert.Equal(["standard", "assessment", "motorway", "testDay", "intensive"], seen.Select(kind => kind.Word("kind")));
        Assert.Equal(("First drive", "[60]", true), (seen[1].Word("name"), seen[1].GetProperty("minutes").GetRawText(), seen[1].GetProperty("pupilsBook").GetBoolean()));
        Assert.Equal("[60,90,120]", seen[2].GetProperty("minutes").GetRawText());
    }

    [Fact]
    public async Task All_that_is_wrong_is_told_in_one_round_and_nothing_is_saved()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var before = (await school.Office.GetJsonAsync(Path)).GetRawText();
        var problem = await (await SaveAsync(
            school.Office, Kind("standard", "Drive", offered: false), Kind("mock", " ", [10, 60]), Kind("mock", new string('x', 41), [60, 60]), Kind("refresher", "R", pupilsBook: true, pupilsSee: false)))
            .JsonAsync(HttpStatusCode.BadRequest);
        Assert.Equal(
            ["items[0].offered", "items[1].minutes", "items[1].name", "items[2].kind", "items[2].minutes", "items[2].name", "items[3].pupilsSee"],
            problem.GetProperty("errors").EnumerateObject().Select(error => error.Name).Order(StringComparer.Ordinal));
        Assert.Equal(before, (await school.Office.GetJsonAsync(Path)).GetRawText());
        Assert.Equal(HttpStatusCode.BadRequest, (await SaveAsync(school.Office)).StatusCode);
        using var empty = await SaveAsync(school.Office, null!, Kind("mock", "Mock"));
        Assert.Equal(["items[0]"], (await empty.JsonAsync(HttpStatusCode.BadRequest)).GetProperty("errors").EnumerateObject().Select(error => error.Name));
        Assert.Equal(HttpStatusCode.Forbidden, (await SaveAsync(school.Instructor, Kind("mock", "Mock"))).StatusCode);
    }

    [Fact]
    public async Task The_audit_names_each_value_before_and_after()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await SavedAsync(school.Office, Kind("mock", "Mock", [60, 90], pupilsBook: true), Kind("refresher", "Refresher lesson", offered: false));
        await SavedAsync(school.Office, Kind("mock", "Mock", [60, 90], pupilsBook: true));
        await SavedAsync(school.Office, Kind("mock", "Mock", [75], pupilsBook: true, pupilsSee: true));

        var lines = (await school.Office.GetJsonAsync("/api/v1/audit")).GetProperty("items").EnumerateArray().Where(line => line.Word("what") == "kinds.change").Select(line => line.Word("words"));

        Assert.Equal(
            [
                "Changed the kinds of lesson: Mock: lengths 60 90 → 75.",
                "Changed the kinds of lesson: Refresher lesson: offered yes → no; Mock test: name Mock test → Mock, lengths as usual → 60 90, pupils book it no → yes.",
            ],
            lines);
    }

    [Fact]
    public async Task What_a_newer_release_says_of_kinds_does_not_stop_this_one()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        const string Newer = """[{"kind":"night","name":"Night"},{"kind":"mock","name":"M","minutes":[],"pupilsBook":false,"pupilsSee":true,"offered":true,"colour":1}]""";
        await school.Host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"UPDATE diary.settings SET kinds = {Newer}::jsonb"));

        var kinds = (await school.Office.GetJsonAsync(Path)).GetProperty("items").EnumerateArray().ToList();

        Assert.Equal((7, "M"), (kinds.Count, kinds[^1].Word("name")));
    }

    [Fact]
    public async Task A_kind_with_lessons_ahead_ends_only_where_it_is_said_that_they_stay()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lesson = await (await Lessons.KindsOfLessonTests.BookAsync(school.Office, school, "mock", London(2026, 3, 5, 10))).JsonAsync(HttpStatusCode.Created);
        var refused = await (await SaveAsync(school.Office, Kind("assessment", "First drive"), Kind("mock", "Mock test", offered: false))).JsonAsync(HttpStatusCode.Conflict);
        Assert.Equal("kind_has_lessons", refused.Word("code"));
        Assert.Contains("Mock test: 1 lesson ahead, the first on Thursday 5 March, 10:00", refused.Word("detail"), StringComparison.Ordinal);
        Assert.Equal("Assessment", (await school.Office.GetJsonAsync(Path)).GetProperty("items")[1].Word("name"));

        await (await SaveAsync(school.Office, stay: true, Kind("mock", "Mock test", offered: false))).JsonAsync();
        Assert.Equal("kind_not_offered", await (await Lessons.KindsOfLessonTests.BookAsync(school.Office, school, "mock", London(2026, 3, 6, 10))).CodeAsync(HttpStatusCode.UnprocessableEntity));
        // What is booked stays what it is, and can still be moved.
        Assert.Equal("mock", (await (await school.Office.MoveAsync(lesson.Id(), London(2026, 3, 6, 11))).JsonAsync()).Word("kind"));
        await (await school.Office.CancelAsync(lesson.Id())).JsonAsync();
        await SavedAsync(school.Office, Kind("mock", "Mock test"));
        await SavedAsync(school.Office, Kind("mock", "Mock test", offered: false));
    }

    [Fact]
    public async Task Of_a_booking_and_the_end_of_its_kind_at_once_only_one_comes_to_pass()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        for (var day = 3; day <= 12; day++)
        {
            var booking = Lessons.KindsOfLessonTests.BookAsync(school.Office, school, "mock", London(2026, 3, day, 10));
            var ending = SaveAsync(school.Office, Kind("mock", "Mock test", offered: false));
            await Task.WhenAll(booking, ending);
            Assert.NotEqual((await booking).IsSuccessStatusCode, (await ending).IsSuccessStatusCode);
            if ((await booking).IsSuccessStatusCode)
            {
                await (await school.Office.CancelAsync((await (await booking).JsonAsync(HttpStatusCode.Created)).Id())).JsonAsync();
            }

            await SavedAsync(school.Office, Kind("mock", "Mock test"));
        }
    }

    [Fact]
    public async Task The_office_changes_the_kinds_on_a_page_and_the_booking_rules_keep_them()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var browser = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var shown = await (await browser.GetAsync("/diary/kinds")).TextAsync();
        Assert.Contains("Motorway lesson", shown, StringComparison.Ordinal);
        await Lessons.KindsOfLessonTests.BookAsync(school.Office, school, "assessment", London(2026, 3, 5, 10));
        var fields = Fields(shown).ToList();
        Set(fields, "Items[1].Name", "First drive");
        Set(fields, "Items[1].Minutes", "90, 60");
        Set(fields, "Items[1].Offered", "false");
        var told = await (await browser.PostFormAsync("/diary/kinds", [.. fields])).TextAsync();
        Assert.Contains("1 lesson ahead", told, StringComparison.Ordinal);
        Assert.Contains("LessonsAheadStay", told, StringComparison.Ordinal);
        Assert.Contains("First drive", told, StringComparison.Ordinal);
        var saved = await browser.PostFormAsync("/diary/kinds", [.. fields, ("LessonsAheadStay", "true")]);
        Assert.Equal(HttpStatusCode.Redirect, saved.StatusCode);

        var rules = await school.Office.GetJsonAsync("/api/v1/diary/settings");
        await (await school.Office.SendJsonAsync(HttpMethod.Put, "/api/v1/diary/settings", rules, etag: "*")).JsonAsync();
        var kind = (await school.Office.GetJsonAsync(Path)).GetProperty("items")[1];
        Assert.Equal(("First drive", "[90,60]", false), (kind.Word("name"), kind.GetProperty("minutes").GetRawText(), kind.GetProperty("offered").GetBoolean()));
    }

    internal static object Kind(string kind, string name, int[]? minutes = null, bool pupilsBook = false, bool pupilsSee = true, bool offered = true) =>
        new { kind, name, minutes = minutes ?? [], pupilsBook = pupilsBook || kind == "standard", pupilsSee, offered };

    internal static async Task SavedAsync(HttpClient api, params object[] kinds) => await (await SaveAsync(api, kinds)).JsonAsync();

    private static Task<HttpResponseMessage> SaveAsync(HttpClient api, params object[] kinds) => SaveAsync(api, false, kinds);

    internal static Task<HttpResponseMessage> SaveAsync(HttpClient api, bool stay, params object[] kinds) =>
        api.SendJsonAsync(HttpMethod.Put, Path, new { items = kinds, lessonsAheadStay = stay }, etag: "*");

    private static void Set(List<(string Name, string Value)> fields, string name, string value)
    {
        fields.RemoveAll(field => field.Name == name);
        fields.Add((name, value));
    }

    /// <summary>What a browser would send of the page as it stands.</summary>
    private static IEnumerable<(string Name, string Value)> Fields(string html)
    {
        foreach (System.Text.RegularExpressions.Match input in System.Text.RegularExpressions.Regex.Matches(html, "<input[^>]*>"))
        {
            string? Of(string attribute) => System.Text.RegularExpressions.Regex.Match(input.Value, $" {attribute}=\"([^\"]*)\"") is { Success: true } found ? found.Groups[1].Value : null;
            if (Of("name") is { } name && (name.StartsWith("Items", StringComparison.Ordinal) || name == "Version")
                && (Of("type") != "checkbox" || input.Value.Contains("checked", StringComparison.Ordinal)))
            {
                yield return (name, Of("value") ?? "");
            }
        }
    }
}
