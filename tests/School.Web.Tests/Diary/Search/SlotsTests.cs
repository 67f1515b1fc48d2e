using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Search;

public sealed class SlotsTests(TestPostgres postgres)
{
    [Fact]
    public async Task Every_offer_can_be_booked_and_stands_on_the_grid_within_hours()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10), 120);
        var second = await school.Host.Data.PupilAsync("Corin Vale", TestData.PlaceAt(20, 10));
        var slots = await school.Office.GetJsonAsync($"/api/v1/slots?pupilId={second.Id}&minutes=90&from=2026-03-05&to=2026-03-05");
        var items = slots.GetProperty("items").EnumerateArray().ToList();
        Assert.Equal(slots.GetProperty("found").GetInt32(), items.Count);
        Assert.Empty(slots.GetProperty("obstacles").EnumerateArray());
        Assert.NotEmpty(items);
        Assert.Equal(items.Select(i => i.GetProperty("extraDrivingMinutes").GetInt32()).Order(), items.Select(i => i.GetProperty("extraDrivingMinutes").GetInt32()));
        Assert.All(items, i => Assert.NotEmpty(i.Word("reason")!));
        foreach (var item in items)
        {
            Assert.Equal(0, item.Moment("start").InUtc().Minute % 15);
            var id = (await school.Office.BookedAsync(second.Id, school.InstructorId, item.Moment("start"), 90)).Id();
            await (await school.Office.CancelAsync(id)).JsonAsync();
        }

        var offered = items.Select(i => i.Moment("start")).ToHashSet();
        for (var start = London(2026, 3, 5, 8); start < London(2026, 3, 5, 18); start += Duration.FromMinutes(15))
        {
            if (!offered.Contains(start))
            {
                Assert.Contains(
                    (await school.Office.BookAsync(second.Id, school.InstructorId, start, 90)).StatusCode,
                    new[] { HttpStatusCode.Conflict, HttpStatusCode.UnprocessableEntity });
            }
        }
    }

    [Fact]
    public async Task The_pupils_agreed_length_is_the_default_and_an_instructor_narrows_the_search()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.Data.InstructorAsync("Basil Thornby");
        await school.Host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.LessonMinutes, 90)));
        var all = (await school.Pupil.GetJsonAsync($"/api/v1/slots?pupilId={school.PupilId}&from=2026-03-05&to=2026-03-06")).GetProperty("items").EnumerateArray().ToList();
        Assert.Equal(2, all.Select(s => s.Id("instructorId")).Distinct().Count());
        Assert.All(all, s => Assert.Equal(Duration.FromMinutes(90), s.Moment("end") - s.Moment("start")));
        Assert.All(all, s => Assert.Equal(JsonValueKind.Null, s.GetProperty("extraDrivingMinutes").ValueKind));
        Assert.All(all, s => Assert.False(s.TryGetProperty("reason", out _)));

        var mine = (await school.Pupil.GetJsonAsync(
            $"/api/v1/slots?pupilId={school.PupilId}&from=2026-03-05&to=2026-03-06&instructorId={school.InstructorId}")).GetProperty("items").EnumerateArray();
        Assert.All(mine, s => Assert.Equal(school.InstructorId, s.Id("instructorId")));
    }

    [Fact]
    public async Task When_nothing_is_free_it_says_what_stands_in_the_way()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var slots = await school.Pupil.GetJsonAsync($"/api/v1/slots?pupilId={school.PupilId}&from=2026-03-02&to=2026-03-02");
        Assert.Empty(slots.GetProperty("items").EnumerateArray());
        var obstacles = slots.GetProperty("obstacles").EnumerateArray().ToDictionary(o => o.Word("code")!, o => o.GetProperty("count").GetInt32());
        // Today: nothing before eight is looked at, everything from eight on is nearer than the notice.
        Assert.Equal(40, obstacles["inside_notice"]);
        Assert.All(slots.GetProperty("obstacles").EnumerateArray(), o => Assert.EndsWith(".", o.Word("sentence")));
    }

    [Theory]
    [InlineData("from=2026-03-05&to=2026-05-04", "to")] // 61 days
    [InlineData("from=2026-03-05&to=2026-03-04", "to")]
    [InlineData("from=2026-03-05&to=2026-03-05&minutes=5", "minutes")]
    public async Task Ranges_and_lengths_have_bounds(string query, string field)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var problem = await (await school.Pupil.GetAsync($"/api/v1/slots?pupilId={school.PupilId}&{query}")).JsonAsync(HttpStatusCode.BadRequest);
        Assert.True(problem.GetProperty("errors").TryGetProperty(field, out _));
    }

    [Theory]
    [InlineData("from=tomorrow&to=2026-03-05")]
    [InlineData("from=0001-01-01&to=0001-01-05")]
    [InlineData("from=9999-12-30&to=9999-12-31")]
    public async Task Dates_that_make_no_sense_are_400(string query)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal(HttpStatusCode.BadRequest, (await school.Pupil.GetAsync($"/api/v1/slots?pupilId={school.PupilId}&{query}")).StatusCode);
    }

    [Fact]
    public async Task A_strangers_free_times_are_404()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var stranger = await school.Host.Data.PupilAsync("Corin Vale");
        Assert.Equal(HttpStatusCode.NotFound, (await school.Pupil.GetAsync($"/api/v1/slots?pupilId={stranger.Id}&from=2026-03-05&to=2026-03-05")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await school.Pupil.GetAsync(
            $"/api/v1/slots?pupilId={school.PupilId}&from=2026-03-05&to=2026-03-05&instructorId={Guid.NewGuid()}")).StatusCode);
    }

    [Fact]
    public async Task The_number_of_queries_does_not_grow_with_days_lessons_and_instructors()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await QueriesOfAsync(school, "from=2026-03-04&to=2026-03-04"); // the first use of a token is noted; what is counted is asked for the first time
        await school.Host.Data.InstructorAsync("Wilfred Combe");
        var few = await QueriesOfAsync(school, "from=2026-03-05&to=2026-03-05");
        for (var i = 0; i < 5; i++)
        {
            var instructor = await school.Host.Data.InstructorAsync($"Basil Thornby {i}");
            var pupil = await school.Host.Data.PupilAsync($"Corin Vale {i}");
            await school.Office.BookedAsync(pupil.Id, instructor.Id, London(2026, 3, 5 + i, 10));
        }

        // Bookings read the school too, and remember it; now it has changed since.
        await school.Host.Data.InstructorAsync("Sorrel Finch");
        Assert.Equal(few, await QueriesOfAsync(school, "from=2026-03-05&to=2026-04-28"));
        Assert.InRange(few, 1, 17);
        Assert.InRange(await QueriesOfAsync(school, "from=2026-03-05&to=2026-04-28"), 1, 7); // all of it is remembered
    }

    [Fact]
    public async Task When_nothing_is_free_it_says_what_would_help()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Basil Thornby");
        await school.Host.AddAsync(new TimeOffRow { InstructorId = school.InstructorId, StartsAt = London(2026, 3, 5, 8), EndsAt = London(2026, 3, 5, 17), Reason = "course" });
        var slots = await school.Pupil.GetJsonAsync(
            $"/api/v1/slots?pupilId={school.PupilId}&minutes=90&from=2026-03-05&to=2026-03-05&instructorId={school.InstructorId}");
        Assert.Equal("time_off", slots.GetProperty("obstacles")[0].Word("code"));
        var help = slots.GetProperty("help").EnumerateArray().ToList();
        Assert.Equal(
            [
                "With another instructor: Thursday 5 March, 08:00.",
                "A lesson of 1 hour would fit on Thursday 5 March, 17:00.",
                "The next time that fits is Friday 6 March, 08:00.",
            ],
            help.Select(h => h.Word("sentence")));

        // Each tells the search that finds it.
        foreach (var way in help)
        {
            var instructor = way.Word("instructorId") is { } id ? $"&instructorId={id}" : "";
            var found = await school.Pupil.GetJsonAsync(
                $"/api/v1/slots?pupilId={school.PupilId}&minutes={way.GetProperty("minutes")}&from={way.Word("from")}&to={way.Word("to")}{instructor}");
            Assert.Equal(way.Moment("start"), found.GetProperty("items").EnumerateArray().Min(s => s.Moment("start")));
        }

        Assert.NotEqual(other.Id, school.InstructorId);
        var free = await school.Pupil.GetJsonAsync($"/api/v1/slots?pupilId={school.PupilId}&from=2026-03-06&to=2026-03-06");
        Assert.Empty(free.GetProperty("help").EnumerateArray());
    }

    [Fact]
    public async Task A_limit_cuts_the_offers_and_not_the_count()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var path = $"/api/v1/slots?pupilId={school.PupilId}&from=2026-03-05&to=2026-03-05";
        var all = await school.Pupil.GetJsonAsync(path);
        var few = await school.Pupil.GetJsonAsync($"{path}&limit=3");
        Assert.Equal(3, few.GetProperty("items").GetArrayLength());
        Assert.Equal(all.GetProperty("found").GetInt32(), few.GetProperty("found").GetInt32());
        Assert.Equal(all.GetProperty("items").EnumerateArray().Take(3).Select(s => s.Moment("start")), few.GetProperty("items").EnumerateArray().Select(s => s.Moment("start")));
        Assert.Equal(HttpStatusCode.BadRequest, (await school.Pupil.GetAsync($"{path}&limit=0")).StatusCode);
    }

    [Fact]
    public async Task Pages_follow_each_other_without_gap_or_repeat()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var path = $"/api/v1/slots?pupilId={school.PupilId}&from=2026-03-05&to=2026-03-20";
        var (seen, cursor, pages) = (new List<Instant>(), "", 0);
        do
        {
            var page = await school.Pupil.GetJsonAsync($"{path}&limit=150{cursor}");
            seen.AddRange(page.GetProperty("items").EnumerateArray().Select(s => s.Moment("start")));
            cursor = page.GetProperty("next").GetString() is { } next ? $"&cursor={next}" : "";
            pages++;
            Assert.True(cursor.Length == 0 || page.GetProperty("items").GetArrayLength() == 150);
            Assert.True(cursor.Length > 0 || seen.Count == page.GetProperty("found").GetInt32());
        }
        while (cursor.Length > 0);
        Assert.True(pages > 1);
        Assert.Distinct(seen);
        var most = await school.Pupil.GetJsonAsync(path);
        Assert.Equal(seen.Take(200), most.GetProperty("items").EnumerateArray().Select(s => s.Moment("start")));
        Assert.Equal(HttpStatusCode.BadRequest, (await school.Pupil.GetAsync($"{path}&limit=201")).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await school.Pupil.GetAsync($"{path}&cursor=bm90IG9uZQ")).StatusCode);
    }

    [Fact]
    public async Task The_drive_is_counted_from_the_places_that_are_asked_for()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var path = $"/api/v1/slots?pupilId={school.PupilId}&from=2026-03-05&to=2026-03-05";
        var far = TestData.PlaceAt(60);
        var there = FormattableString.Invariant($"&pickUpLatitude={far.Latitude}&pickUpLongitude={far.Longitude}");
        var home = await school.Office.GetJsonAsync(path);
        var away = await school.Office.GetJsonAsync(path + there);
        Assert.True(LeastDrive(away) > LeastDrive(home));
        // The drop-off is the pick-up unless it is named.
        var oneWay = await school.Office.GetJsonAsync(FormattableString.Invariant($"{path}&dropOffLatitude={far.Latitude}&dropOffLongitude={far.Longitude}"));
        Assert.InRange(LeastDrive(oneWay), LeastDrive(home) + 1, LeastDrive(away) - 1);
        Assert.Equal(["pickUpLongitude"], await (await school.Office.GetAsync($"{path}&pickUpLatitude=52.4")).WrongFieldsAsync());
        Assert.Equal(["dropOffLatitude", "dropOffLongitude"], await (await school.Office.GetAsync($"{path}&dropOffLatitude=91&dropOffLongitude=181")).WrongFieldsAsync());

        static int LeastDrive(JsonElement found) => found.GetProperty("items").EnumerateArray().Min(s => s.GetProperty("extraDrivingMinutes").GetInt32());
    }

    private static async Task<int> QueriesOfAsync(SmallSchool school, string query)
    {
        using var counter = new QueryCounter(school.Host.ConnectionString);
        await school.Office.GetJsonAsync($"/api/v1/slots?pupilId={school.PupilId}&{query}");
        return counter.Count;
    }
}
