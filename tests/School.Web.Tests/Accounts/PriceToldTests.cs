using System.Net;
using NodaTime;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Platform.Access;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Accounts;

/// <summary>What a lesson costs is said before it is booked, and is what is charged.</summary>
public sealed class PriceToldTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task The_price_told_before_booking_is_the_price_charged_whatever_the_list_says_by_then()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        Assert.Equal((54_00L, 54_00L, 0), Figures(await school.Pupil.GetJsonAsync(Address(school, Thursday10, 90))));
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Basil Thornby"));
        var shown = await (await pages.GetAsync($"/diary/book/check?pupil={school.PupilId}&with={school.InstructorId}&minutes=90&start=2026-03-05T10:00:00Z")).TextAsync();
        Assert.Contains("£54.00, to be paid.", shown, StringComparison.Ordinal);

        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10, 90)).Id();
        await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/prices", new { pence = 40_00, bookedFrom = "2026-03-04" })).JsonAsync(HttpStatusCode.Created);
        school.Host.Clock.Reset(Thursday10 + Duration.FromHours(2));
        Assert.Equal((60_00L, 60_00L, 0), Figures(await school.Pupil.GetJsonAsync(Address(school, London(2026, 3, 9, 10), 90))));
        await (await school.Instructor.RecordAsync(id, 90, "As booked.")).JsonAsync();
        Assert.Equal((54_00, 0), await school.Pupil.StandingAsync(school.PupilId));
    }

    [Fact]
    public async Task Prepaid_hours_that_other_lessons_are_booked_for_are_not_told_twice()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        await school.Office.SellAsync(school.PupilId, 90, 51_00);
        var first = await school.Pupil.GetJsonAsync(Address(school, Thursday10, 60));
        Assert.Equal((36_00L, 0L, 60), Figures(first));
        Assert.Equal("£36.00, paid for: 1 hour of your prepaid hours is taken.", first.Word("sentence"));
        await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10);

        var second = await school.Pupil.GetJsonAsync(Address(school, London(2026, 3, 6, 10), 60));
        Assert.Equal((36_00L, 18_00L, 30), Figures(second));
        Assert.Equal("£36.00: 30 min of your prepaid hours are taken, and £18.00 is to be paid.", second.Word("sentence"));
        await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 6, 10));

        var third = await school.Office.GetJsonAsync(Address(school, London(2026, 3, 9, 10), 60));
        Assert.Equal((36_00L, 36_00L, 0), Figures(third));
        Assert.Equal("£36.00, to be paid: the pupil’s prepaid hours are for lessons that are booked already.", third.Word("sentence"));
    }

    [Fact]
    public async Task Who_keeps_the_diary_alone_is_told_the_price_and_nothing_of_the_account()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var diary = await school.Host.ApiAsAsync(await school.Host.Data.WearerAsync("Corin Marsh", "corin@larkfield.example", new[] { OfficePart.Diary }.Together()));
        var none = await diary.GetJsonAsync(Address(school, Thursday10, 60));
        Assert.Equal(("The school keeps no money here for that day.", System.Text.Json.JsonValueKind.Null), (none.Word("sentence"), none.GetProperty("pence").ValueKind));

        await school.Office.OpenBooksAsync();
        await school.Office.SellAsync(school.PupilId, 90, 51_00);
        var told = await diary.GetJsonAsync(Address(school, Thursday10, 60));
        Assert.Equal(36_00, told.GetProperty("pence").GetInt64());
        Assert.Equal("£36.00.", told.Word("sentence"));
        Assert.Equal(System.Text.Json.JsonValueKind.Null, told.GetProperty("prepaidMinutes").ValueKind);
        Assert.Equal(System.Text.Json.JsonValueKind.Null, told.GetProperty("owedPence").ValueKind);

        // Nor of what a late cancellation would take from it.
        await school.Office.AgreeTermsAsync(school.Pupil, school.PupilId);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(3));
        var late = await diary.GetJsonAsync($"/api/v1/lessons/{id}/charge?act=cancel");
        Assert.Equal((36_00L, 0), (late.GetProperty("pence").GetInt64(), late.GetProperty("prepaidMinutes").GetInt32()));
        Assert.EndsWith("£36.00 is asked, from prepaid hours first.", late.Word("sentence"), StringComparison.Ordinal);
        Assert.Equal(60, (await school.Office.GetJsonAsync($"/api/v1/lessons/{id}/charge?act=cancel")).GetProperty("prepaidMinutes").GetInt32());
    }

    [Fact]
    public async Task A_lesson_without_a_price_is_said_to_have_none()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/prices", new { bookedFrom = "2026-03-02" })).JsonAsync(HttpStatusCode.Created);
        Assert.StartsWith("The school has named no price", (await school.Pupil.GetJsonAsync(Address(school, Thursday10, 60))).Word("sentence"), StringComparison.Ordinal);
        Assert.Equal("The price list has no price for this lesson.", (await school.Office.GetJsonAsync(Address(school, Thursday10, 60))).Word("sentence"));
        Assert.Equal(["minutes"], await (await school.Office.GetAsync(Address(school, Thursday10, 10))).WrongFieldsAsync());
        Assert.Equal(HttpStatusCode.NotFound, (await school.Office.GetAsync(Address(school, Thursday10, 60).Replace($"{school.InstructorId}", $"{Guid.NewGuid()}", StringComparison.Ordinal))).StatusCode);
    }

    private static string Address(SmallSchool school, Instant start, int minutes) =>
        $"/api/v1/lessons/price?pupilId={school.PupilId}&instructorId={school.InstructorId}&start={start}&minutes={minutes}";

    private static (long Pence, long Owed, int Prepaid) Figures(System.Text.Json.JsonElement told) =>
        (told.GetProperty("pence").GetInt64(), told.GetProperty("owedPence").GetInt64(), told.GetProperty("prepaidMinutes").GetInt32());
}
