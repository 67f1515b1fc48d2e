using School.Tests;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Search;

/// <summary>Lessons that start inside the notice for backing out free of charge (48 hours; it is Monday 2 March, 08:00).</summary>
public sealed class ShortNoticeTests(TestPostgres postgres)
{
    private const string Tomorrow = "2026-03-03T10:00:00Z";
    private const string Thursday = "2026-03-05T10:00:00Z";

    [Fact]
    public async Task A_pupil_is_warned_before_booking_at_short_notice_and_told_so_afterwards()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync(instructor: instructor.Id)));
        var check = $"/diary/book/check?start={Tomorrow}&minutes=60&with={instructor.Id}";
        var page = await (await browser.GetAsync(check)).TextAsync();
        Assert.Contains("class=\"warning\"", page, StringComparison.Ordinal);
        Assert.Contains("This is less than 48 hours away: it cannot be moved here afterwards, and cancelling is charged.", page, StringComparison.Ordinal);
        Assert.True(page.IndexOf("This is less than", StringComparison.Ordinal) < page.IndexOf("<button class=\"main\">Book", StringComparison.Ordinal));

        var booked = await browser.PostFormAsync(check, "/diary/book/check", ("start", Tomorrow), ("minutes", "60"), ("with", $"{instructor.Id}"));
        foreach (var address in new[] { booked.Headers.Location!.OriginalString, "/diary/home" })
        {
            var lesson = await (await browser.GetAsync(address)).TextAsync();
            Assert.Contains("Booked at short notice: cancelling is charged.", lesson, StringComparison.Ordinal);
            Assert.DoesNotContain("free of charge ended on", lesson, StringComparison.Ordinal);
        }

        var ahead = await (await browser.GetAsync(check.Replace(Tomorrow, Thursday, StringComparison.Ordinal))).TextAsync();
        Assert.DoesNotContain("class=\"warning\"", ahead, StringComparison.Ordinal);
        Assert.Contains("Move or cancel free of charge until Tuesday 3 March, 10:00; after that, cancelling is charged.", ahead, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Staff_read_what_it_means_for_the_pupil_in_their_own_words()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        foreach (var person in new[] { await host.Data.OfficeAsync(), await host.Data.PersonAsync(instructor) })
        {
            using var browser = await host.PagesAsAsync(person);
            var check = await (await browser.GetAsync($"/diary/book/check?pupil={pupil.Id}&start={Tomorrow}&minutes=60&with={instructor.Id}")).TextAsync();
            Assert.Contains("Inside the notice: cancelling by the pupil is charged.", check, StringComparison.Ordinal);
            Assert.DoesNotContain("cannot be moved here", check, StringComparison.Ordinal);
        }

        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var booked = await office.PostFormAsync(
            $"/diary/book/check?pupil={pupil.Id}&start={Thursday}&minutes=60&with={instructor.Id}", "/diary/book/check",
            ("pupil", $"{pupil.Id}"), ("start", Thursday), ("minutes", "60"), ("with", $"{instructor.Id}"));
        var lesson = booked.Headers.Location!.OriginalString;
        Assert.Contains("The pupil may move or cancel free of charge until Tuesday 3 March, 10:00.", await (await office.GetAsync(lesson)).TextAsync(), StringComparison.Ordinal);

        var move = await (await office.GetAsync($"{lesson}/move/check?start={Tomorrow}")).TextAsync();
        Assert.Contains("Inside the notice: cancelling by the pupil is charged.", move, StringComparison.Ordinal);
        Assert.Contains("Agreed with the pupil", move, StringComparison.Ordinal);
        var unasked = await (await office.PostFormAsync($"{lesson}/move/check?start={Tomorrow}", $"{lesson}/move/check", ("start", Tomorrow))).TextAsync();
        Assert.Contains("Ask them first, then confirm that they agree", unasked, StringComparison.Ordinal);
        Assert.Contains("The pupil may move or cancel free of charge until Tuesday 3 March, 10:00.", await (await office.GetAsync(lesson)).TextAsync(), StringComparison.Ordinal);
        await office.PostFormAsync($"{lesson}/move/check?start={Tomorrow}", $"{lesson}/move/check", ("start", Tomorrow), ("Asked", "true"));
        Assert.Contains("Moved at short notice: cancelling by the pupil is charged.", await (await office.GetAsync(lesson)).TextAsync(), StringComparison.Ordinal);
        using var own = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        Assert.Contains("Moved at short notice: cancelling is charged.", await (await own.GetAsync(lesson)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Moving_into_the_notice_warns_the_pupil()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync(instructor: instructor.Id)));
        var lesson = await BookThursdayAsync(browser, instructor.Id);
        var check = await (await browser.GetAsync($"{lesson}/move/check?start={Tomorrow}")).TextAsync();
        Assert.Contains("class=\"warning\"", check, StringComparison.Ordinal);
        Assert.Contains("This is less than 48 hours away", check, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Free_time_that_ran_out_after_booking_is_still_told_as_that()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync(instructor: instructor.Id)));
        var lesson = await BookThursdayAsync(browser, instructor.Id);
        host.Clock.AdvanceHours(30);
        Assert.Contains("Your time to move or cancel free of charge ended on Tuesday 3 March, 10:00.", await (await browser.GetAsync(lesson)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Moving_opens_at_the_lessons_own_week_and_a_past_one_at_today()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var id = (await api.BookedAsync(pupil.Id, instructor.Id, London(2026, 3, 19, 10))).Id();
        var address = $"/diary/lessons/{id}/move";
        Assert.Contains("All free times, Monday 16 to Sunday 22 March", await (await office.GetAsync(address)).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("All free times, Thursday 5 to Wednesday 11 March", await (await office.GetAsync($"{address}?from=2026-03-05")).TextAsync(), StringComparison.Ordinal);
        host.Clock.Reset(London(2026, 3, 30, 8));
        using var later = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains("All free times, Monday 30 March to Sunday 5 April", await (await later.GetAsync(address)).TextAsync(), StringComparison.Ordinal);
    }

    private static async Task<string> BookThursdayAsync(HttpClient browser, Guid instructor)
    {
        var booked = await browser.PostFormAsync(
            $"/diary/book/check?start={Thursday}&minutes=60&with={instructor}", "/diary/book/check", ("start", Thursday), ("minutes", "60"), ("with", $"{instructor}"));
        return booked.Headers.Location!.OriginalString;
    }
}
