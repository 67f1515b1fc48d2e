using System.Net;
using NodaTime;
using School.Tests;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Lessons;

public sealed class LessonListTests(TestPostgres postgres)
{
    [Fact]
    public async Task Pages_follow_the_start_and_join_without_gap_or_repeat()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Basil Thornby");
        var second = await school.Host.Data.PupilAsync("Corin Vale");
        for (var day = 9; day >= 5; day--)
        {
            await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, day, 10));
            await school.Office.BookedAsync(second.Id, other.Id, London(2026, 3, day, 10)); // the same start: the id decides
        }

        var all = (await school.Office.GetJsonAsync("/api/v1/lessons?from=2026-03-01&to=2026-03-31")).GetProperty("items").EnumerateArray().Select(l => l.Id()).ToList();
        Assert.Equal(10, all.Count);
        var paged = new List<Guid>();
        string? cursor = null;
        do
        {
            var page = await school.Office.GetJsonAsync($"/api/v1/lessons?from=2026-03-01&to=2026-03-31&limit=3{(cursor is null ? "" : $"&cursor={cursor}")}");
            paged.AddRange(page.GetProperty("items").EnumerateArray().Select(l => l.Id()));
            cursor = page.Word("next");
        }
        while (cursor is not null);
        Assert.Equal(all, paged);
    }

    [Fact]
    public async Task Dates_are_inclusive_and_by_the_schools_clock_and_filters_narrow()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 8))).Id();
        async Task<int> CountAsync(string query) => (await school.Office.GetJsonAsync($"/api/v1/lessons?{query}")).GetProperty("items").GetArrayLength();
        Assert.Equal(1, await CountAsync("from=2026-03-05&to=2026-03-05"));
        Assert.Equal(0, await CountAsync("from=2026-03-06"));
        Assert.Equal(0, await CountAsync("to=2026-03-04"));
        Assert.Equal(1, await CountAsync("from=2026-03-05T08:00:00Z&to=2026-03-05T08:30:00%2B00:00"));
        Assert.Equal(1, await CountAsync($"pupilId={school.PupilId}&instructorId={school.InstructorId}"));
        Assert.Equal(0, await CountAsync($"pupilId={Guid.NewGuid()}"));
        Assert.Equal(id, (await school.Pupil.GetJsonAsync("/api/v1/lessons")).GetProperty("items")[0].Id());
        Assert.Equal(id, (await school.Instructor.GetJsonAsync("/api/v1/lessons")).GetProperty("items")[0].Id());
    }

    [Theory]
    [InlineData("limit=1000000")]
    [InlineData("limit=0")]
    [InlineData("cursor=nonsense!")]
    [InlineData("cursor=OTk5OTk5OTk5OTk5OTk5OTk5OSB4")]
    [InlineData("from=2026-13-01")]
    [InlineData("to=9999-12-31")]
    [InlineData("from=0001-01-01")]
    [InlineData("to=9999-12-31T23:59:59-18:00")]
    public async Task What_cannot_be_asked_is_400(string query)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal(HttpStatusCode.BadRequest, (await school.Office.GetAsync($"/api/v1/lessons?{query}")).StatusCode);
    }
}
