using System.Net;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary.Charges;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Office;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Day;

public sealed class DayTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task The_days_route_has_stops_in_order_legs_slack_and_totals()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var far = await school.Host.Data.PupilAsync("Corin Vale", TestData.PlaceAt(30, label: "Weir Road"));
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == far.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Need, "Roundabouts")));
        await school.Office.BookedAsync(far.Id, school.InstructorId, London(2026, 3, 5, 13), 90);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10);
        var cancelled = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 16))).Id();
        await school.Office.CancelAsync(cancelled);

        var day = await school.Instructor.GetJsonAsync($"/api/v1/instructors/{school.InstructorId}/day/2026-03-05");
        var stops = day.GetProperty("stops").EnumerateArray().ToList();
        Assert.Equal(["Tamsin Oakley", "Corin Vale"], stops.Select(s => s.Word("pupilName")));
        Assert.Equal(150, day.GetProperty("taughtMinutes").GetInt32());
        Assert.Equal(0, stops[0].GetProperty("leg").GetProperty("minutes").GetInt32()); // the first pupil lives at the base
        var leg = stops[1].GetProperty("leg").GetProperty("minutes").GetInt32();
        Assert.InRange(leg, 5, 40);
        Assert.Equal(London(2026, 3, 5, 11) + Duration.FromMinutes(leg), stops[1].Moment("arrives"));
        Assert.Equal(120 - leg, stops[1].GetProperty("slackMinutes").GetInt32());
        Assert.Equal("Roundabouts", stops[1].Word("need"));
        Assert.Equal("Weir Road", stops[1].GetProperty("pickUp").Word("label"));
        Assert.True(stops[1].GetProperty("firstLesson").GetBoolean());
        Assert.Equal(
            day.GetProperty("drivingMinutes").GetInt32(), leg + day.GetProperty("legHome").GetProperty("minutes").GetInt32());
        Assert.Equal(Thursday10 - Duration.FromMinutes(5), day.Moment("latestDeparture"));
    }

    [Fact]
    public async Task The_next_lesson_shows_the_last_note_and_is_no_longer_the_first()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 6, 10));
        school.Host.Clock.Reset(London(2026, 3, 5, 11));
        await school.Instructor.RecordAsync(id, 60, "Bay parking next");
        var stop = (await school.Instructor.GetJsonAsync($"/api/v1/instructors/{school.InstructorId}/day/2026-03-06")).GetProperty("stops")[0];
        Assert.Equal("Bay parking next", stop.Word("lastNote"));
        Assert.False(stop.GetProperty("firstLesson").GetBoolean());
        var empty = await school.Instructor.GetJsonAsync($"/api/v1/instructors/{school.InstructorId}/day/2026-03-07");
        Assert.Empty(empty.GetProperty("stops").EnumerateArray());
        Assert.Equal(HttpStatusCode.BadRequest, (await school.Instructor.GetAsync($"/api/v1/instructors/{school.InstructorId}/day/9999-12-31")).StatusCode);
    }

    [Fact]
    public async Task Page_and_api_say_the_same_of_a_days_first_lessons_and_last_notes()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var noted = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var silent = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 6, 10))).Id();
        var fresh = await school.Host.Data.PupilAsync("Corin Vale");
        await school.Office.BookedAsync(fresh.Id, school.InstructorId, London(2026, 3, 7, 9));
        await school.Office.BookedAsync(fresh.Id, school.InstructorId, London(2026, 3, 7, 13));
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 7, 11));
        school.Host.Clock.Reset(London(2026, 3, 6, 12));
        await school.Instructor.RecordAsync(noted, 60, "Bay parking next");
        await school.Instructor.RecordAsync(silent, 60, "");

        var stops = (await school.Instructor.GetJsonAsync($"/api/v1/instructors/{school.InstructorId}/day/2026-03-07")).GetProperty("stops").EnumerateArray().ToList();
        Assert.Equal([true, false, false], stops.Select(stop => stop.GetProperty("firstLesson").GetBoolean()));
        // A lesson recorded without words leaves the words of the one before.
        Assert.Equal(["", "Bay parking next", ""], stops.Select(stop => stop.Word("lastNote")));
        using var browser = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Linden Marsh"));
        var page = await (await browser.GetAsync($"/diary/day?date=2026-03-07&instructorId={school.InstructorId}")).TextAsync();
        Assert.Equal(1, page.Split("first lesson").Length - 1);
        Assert.Contains("Last note: Bay parking next", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_colleagues_day_and_lessons_are_not_an_instructors_to_see()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Basil Thornby");
        var lesson = (await school.Office.BookedAsync(school.PupilId, other.Id, Thursday10)).Id();
        Assert.Equal(HttpStatusCode.NotFound, (await school.Instructor.GetAsync($"/api/v1/instructors/{other.Id}/day/2026-03-05")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await school.Instructor.GetAsync($"/api/v1/lessons/{lesson}")).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await school.Office.GetAsync($"/api/v1/instructors/{other.Id}/day/2026-03-05")).StatusCode);
    }

    [Fact]
    public async Task The_attention_list_holds_papers_impossible_lessons_and_lessons_without_a_record()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var past = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10))).Id();
        Assert.Empty(await AttentionAsync(school));

        await school.Host.WithDbAsync(db => db.Set<Car>().ExecuteUpdateAsync(set => set.SetProperty(c => c.TaxExpires, new LocalDate(2026, 3, 4))));
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.RegisteredTo, new LocalDate(2026, 3, 20))));
        school.Host.Clock.Reset(London(2026, 3, 3, 12));
        // No job runs here, so that letters wait.
        var items = (await AttentionAsync(school)).Where(i => i.Kind != "late_messages").ToList();
        Assert.Equal(["impossible_lesson", "car_paper", "registration", "unrecorded_lesson"], items.Select(i => i.Kind));
        Assert.Equal($"/diary/lessons/{id}", items[0].Href);
        Assert.Contains("not taxed on that date", items[0].Sentence);
        Assert.Contains("vehicle tax runs out on 4 March 2026", items[1].Sentence);
        Assert.Equal(new(2026, 3, 20), items[2].Since);
        Assert.Equal($"/syllabus/lessons/{past}/record", items[3].Href);

        await (await school.Office.CancelAsync(id, "car")).JsonAsync();
        await (await school.Office.RecordAsync(past, 60, "")).JsonAsync();
        Assert.Equal(["car_paper", "registration"], (await AttentionAsync(school)).Select(i => i.Kind).Where(kind => kind != "late_messages"));
    }

    [Fact]
    public async Task Cancelling_says_before_the_button_whether_it_is_charged()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var viewer = new Viewer(Guid.NewGuid(), OfficeParts.None, null, school.PupilId, "Tamsin Oakley");
        foreach (var (hours, chargeable) in new[] { (49, false), (20, true) })
        {
            school.Host.Clock.Reset(Thursday10 - Duration.FromHours(hours));
            await using var scope = school.Host.Services.CreateAsyncScope();
            var preview = await scope.ServiceProvider.GetRequiredService<TellCharge>().RunAsync(viewer, id, new(ChargeAct.Cancel), CancellationToken.None);
            Assert.Equal(chargeable, preview.Value!.Chargeable);
            Assert.Equal(London(2026, 3, 3, 10), preview.Value.Charge.FreeUntil);
            Assert.Equal("booked", (await school.Pupil.GetJsonAsync($"/api/v1/lessons/{id}")).Word("state"));
        }
    }

    [Fact]
    public async Task Other_modules_count_lessons_ahead_and_read_what_a_feed_shows()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var ahead = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var cancelled = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 6, 10))).Id();
        await (await school.Office.CancelAsync(cancelled, "weather")).JsonAsync();
        await using var scope = school.Host.Services.CreateAsyncScope();
        var book = scope.ServiceProvider.GetRequiredService<LessonBook>();
        var none = CancellationToken.None;
        var car = (await school.Office.GetJsonAsync($"/api/v1/lessons/{ahead}")).Id("carId");
        var asked = scope.ServiceProvider.GetRequiredService<Ahead>();
        Assert.Equal(new(1, 0), await asked.AskAsync(new(PupilId: school.PupilId), none));
        Assert.Equal(new(1, 0), await asked.AskAsync(new(CarId: car), none));
        Assert.Equal(new(0, 0), await asked.AskAsync(new(InstructorId: Guid.NewGuid()), none));

        var now = school.Host.Clock.GetCurrentInstant();
        var feed = await book.LessonsForFeedAsync(new(now, now + Duration.FromDays(30)), now - Duration.FromDays(30), none, instructorId: school.InstructorId);
        Assert.Equal([(ahead, LessonState.Booked, 0), (cancelled, LessonState.Cancelled, 1)], feed.Select(l => (l.Id, l.State, l.Sequence)));
        Assert.Equal([ahead], (await book.LessonsForFeedAsync(new(now, now + Duration.FromDays(30)), now + Duration.FromDays(1), none, pupilId: school.PupilId)).Select(l => l.Id));
        Assert.Empty(await book.LessonsForFeedAsync(new(Thursday10 + Duration.FromDays(5), Thursday10 + Duration.FromDays(9)), now, none, carId: car));
        Assert.Empty(await book.LessonsForFeedAsync(new(now, Thursday10), now, none, carId: car));
    }

    [Fact]
    public async Task A_search_offers_each_instructors_own_kind_of_car()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.Data.InstructorAsync();
        var automatic = await host.Data.InstructorAsync("Basil Thornby", null, Gearbox.Automatic);
        var pupil = await host.Data.PupilAsync(gearbox: Gearbox.Automatic);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var items = (await office.GetJsonAsync($"/api/v1/slots?pupilId={pupil.Id}&from=2026-03-05&to=2026-03-05")).GetProperty("items").EnumerateArray().ToList();
        Assert.NotEmpty(items);
        Assert.All(items, i => Assert.Equal(automatic.Id, i.Id("instructorId")));
    }

    private static async Task<IReadOnlyList<AttentionItem>> AttentionAsync(SmallSchool school)
    {
        await using var scope = school.Host.Services.CreateAsyncScope();
        scope.ServiceProvider.GetRequiredService<ViewerOverride>().Viewer = Viewer.Service;
        return await scope.ServiceProvider.GetRequiredService<AttentionList>().AttentionAsync(CancellationToken.None);
    }
}
