using System.Text.RegularExpressions;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Weekly;

/// <summary>The page of weekly lessons asks for the weekday. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class WeeklyPageTests(TestPostgres postgres)
{
    [Theory]
    [InlineData("day=Thursday", "Thursday 5 March")]
    [InlineData("day=Monday", "Monday 9 March")]
    [InlineData("day=Friday&first=2026-03-05", "Friday 6 March")]
    [InlineData("day=Thursday&first=2026-03-12", "Thursday 12 March")]
    [InlineData("first=2026-03-06", "Friday 6 March")]
    public async Task The_first_is_the_next_such_day_from_the_one_that_was_given_or_from_tomorrow(string asked, string first)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var page = await (await office.GetAsync($"/diary/weekly?pupil={school.PupilId}&with={school.InstructorId}&minutes=60&{asked}&time=10:00&weeks=2")).TextAsync();
        Assert.Equal(first, Regex.Match(page, "<b>([A-Z][a-z]+day [0-9]+ March)</b>").Groups[1].Value);
        Assert.Contains("All of them fit.", page, StringComparison.Ordinal);
        var chosen = Regex.Matches(page, "<option[^>]*selected[^>]*>([A-Z][a-z]+day)</option>").Select(option => option.Groups[1].Value);
        Assert.Equal(first.Split(' ')[0], Assert.Single(chosen));
    }

    /// <summary>Good Friday 2026 is 3 April (gov.uk, UK bank holidays; from memory).</summary>
    [Fact]
    public async Task A_public_holiday_stands_unticked_with_its_name_and_a_lesson_booked_on_it_says_so()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var page = await (await office.GetAsync($"/diary/weekly?pupil={school.PupilId}&with={school.InstructorId}&minutes=60&first=2026-03-27&time=10:00&weeks=3")).TextAsync();
        var boxes = Regex.Matches(page, "<input type=\"checkbox\" id=\"at-[^>]*name=\"starts\"[^>]*>\\s*<label[^>]*>(.*?)</label>")
            .Select(box => (box.Groups[1].Value.Contains("3 April", StringComparison.Ordinal), box.Value.Contains("checked", StringComparison.Ordinal)));
        Assert.Equal([(false, true), (true, false), (false, true)], boxes);
        Assert.Matches("Friday 3 April</b>, 10:00, Good Friday", page);
        Assert.DoesNotContain("Leave out public holidays", page, StringComparison.Ordinal);

        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, DiaryApi.London(2026, 4, 3, 10))).Id();
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, DiaryApi.London(2026, 4, 10, 10));
        Assert.Single(Regex.Matches(await (await office.GetAsync($"/diary/lessons?pupil={school.PupilId}")).TextAsync(), "Good Friday"));
        Assert.Contains("Good Friday", await (await office.GetAsync($"/diary/lessons/{lesson}")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Without_a_weekday_or_a_date_it_is_asked_for()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var page = await (await office.GetAsync($"/diary/weekly?pupil={school.PupilId}&with={school.InstructorId}&day=&first=&time=10:00&weeks=2")).TextAsync();
        Assert.Contains("href=\"#Day\">Choose a day of the week, or enter the first date.", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Where_no_date_fits_the_reason_stands_once_and_nothing_can_be_unticked()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var page = await (await office.GetAsync($"/diary/weekly?pupil={school.PupilId}&with={school.InstructorId}&minutes=60&day=Thursday&time=05:00&weeks=4")).TextAsync();
        Assert.Contains("None of the 4 dates fits.", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Untick", page, StringComparison.Ordinal);
        Assert.Equal(4, Regex.Count(page, ": does not fit\\."));
        Assert.Single(Regex.Matches(page, "On each of them\\."));
    }
}
