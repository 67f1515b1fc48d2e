using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.Courses.CourseTests;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Courses;

/// <summary>A course for which there is no room: which rule stopped it, and the least change with which it would fit. It is Monday 2 March 2026.</summary>
public sealed class CourseNoRoomTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_limit_of_the_day_is_named_and_later_days_are_the_cure_which_then_works()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.DailyTeachingMinutes, 150)));
        var problem = await NoRoomAsync(school);
        Assert.Equal(["daily_limit"], Codes(problem, "reasons"));
        Assert.Contains("The instructor's limit for the day would be passed.", problem.Word("detail"), StringComparison.Ordinal);
        // Eight days of two and a half hours, from Tuesday on: Tuesday the 10th. More hours a day are of no use, nor is another week.
        var cure = Assert.Single(problem.GetProperty("cures").EnumerateArray());
        Assert.Equal(("later_last_day", "2026-03-03", "2026-03-10", 240), (cure.Word("code"), cure.Word("from"), cure.Word("to"), cure.GetProperty("mostMinutesADay").GetInt32()));
        Assert.Contains("All of it would fit with Tuesday 10 March as the last day.", problem.Word("detail"), StringComparison.Ordinal);
        await (await PlanAsync(school, ("to", cure.Word("to")!))).JsonAsync(HttpStatusCode.Created);
        // And a day less does not.
        await NoRoomAsync(school, ("to", "2026-03-09"));
    }

    [Fact]
    public async Task Too_few_hours_a_day_are_named_and_more_are_a_cure()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.AddAsync(new TimeOffRow { InstructorId = school.InstructorId, StartsAt = London(2026, 3, 5, 0), EndsAt = London(2026, 3, 8, 0), Reason = "away" });
        var problem = await NoRoomAsync(school);
        Assert.Contains("time_off", Codes(problem, "reasons"));
        var cures = problem.GetProperty("cures").EnumerateArray().ToDictionary(cure => cure.Word("code")!);
        // Tuesday, Wednesday, Sunday and Monday are free: five hours on each, or the day after the last as well, or the same number of days later.
        Assert.Equal(300, cures["more_minutes_a_day"].GetProperty("mostMinutesADay").GetInt32());
        Assert.Equal("2026-03-10", cures["later_last_day"].Word("to"));
        // Seven days of which three are lost are too few until the first of those is before them.
        Assert.Equal(("2026-03-06", "2026-03-12"), (cures["later_first_day"].Word("from"), cures["later_first_day"].Word("to")));
        foreach (var cure in cures.Values)
        {
            await (await PlanAsync(school, ("from", cure.Word("from")!), ("to", cure.Word("to")!), ("mostMinutesADay", cure.GetProperty("mostMinutesADay").GetInt32()))).JsonAsync(HttpStatusCode.Created);
        }
    }

    [Fact]
    public async Task Where_no_single_change_helps_it_says_so()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.DailyTeachingMinutes, 60)));
        await school.Host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.WeeklyMinutes, 60)));
        var problem = await NoRoomAsync(school);
        Assert.Empty(problem.GetProperty("cures").EnumerateArray());
        Assert.Contains("weekly_limit", Codes(problem, "reasons"));
        Assert.Contains("plan fewer hours", problem.Word("detail"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_page_says_why_and_one_press_fills_the_form_with_what_would_fit()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.DailyTeachingMinutes, 150)));
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var form = $"/diary/courses?pupil={school.PupilId}";
        (string, string)[] fields = [("Input.Pupil", $"{school.PupilId}"), ("Input.With", $"{school.InstructorId}"), ("Input.Hours", "20"), ("Input.MostADay", "240"), ("Input.First", "2026-03-03"), ("Input.Last", "2026-03-09")];
        var no = await (await office.PostFormAsync(form, "/diary/courses", fields)).TextAsync();
        Assert.Contains("limit for the day would be passed", no, StringComparison.Ordinal);
        Assert.Contains("Plan it with Tuesday 10 March as the last day", no, StringComparison.Ordinal);
        var href = WebUtility.HtmlDecode(no.Split("Plan it with Tuesday 10 March")[0].Split("href=\"")[^1].Split('"')[0]);
        var filled = await (await office.GetAsync(href)).TextAsync();
        Assert.Contains("value=\"2026-03-10\"", filled, StringComparison.Ordinal);
        Assert.Contains("value=\"20\"", filled, StringComparison.Ordinal);
    }

    private static async Task<JsonElement> NoRoomAsync(SmallSchool school, params (string Name, object Value)[] other)
    {
        var problem = await (await PlanAsync(school, other)).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal("course_no_room", problem.Word("code"));
        return problem;
    }

    private static IEnumerable<string?> Codes(JsonElement problem, string member) => problem.GetProperty(member).EnumerateArray().Select(one => one.Word("code"));
}
