using System.Net;
using School.Tests;
using School.Web.Modules.Pupils;
using School.Web.Tests.Diary.TestDays;
using School.Web.Tests.Host;

namespace School.Web.Tests.Pupils;

/// <summary>Theory certificate and licence check. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class PapersTests(TestPostgres postgres)
{
    private const string Number = "OAKLE055047T99AA";

    [Fact]
    public async Task Papers_are_entered_audited_and_told_with_what_will_lapse()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var teacher = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: teacher.Id);
        using var instructor = await host.ApiAsAsync(await host.Data.PersonAsync(teacher));
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var url = $"/api/v1/pupils/{pupil.Id}/papers";
        var read = await instructor.GetAsync(url);
        object body = new { theoryPassedOn = "2025-01-10", licenceCheckedOn = "2026-01-31" };
        Assert.Equal(HttpStatusCode.PreconditionRequired, (await instructor.SendAsync(HttpMethod.Put, url, body)).StatusCode);
        var put = await instructor.SendAsync(HttpMethod.Put, url, body, ("If-Match", read.Headers.ETag!.ToString()));
        Assert.Equal(("2027-01-09", "2026-07-31"), ((await put.JsonAsync()).GetProperty("theoryEndsOn").GetString(), (await put.JsonAsync()).GetProperty("licenceCheckDueOn").GetString()));
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await instructor.SendAsync(HttpMethod.Put, url, body, ("If-Match", read.Headers.ETag!.ToString()))).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await own.SendAsync(HttpMethod.Put, url, body, ("If-Match", "*"))).StatusCode);

        var eligibility = await (await own.GetAsync($"/api/v1/pupils/{pupil.Id}/eligibility")).JsonAsync();
        Assert.True(eligibility.GetProperty("mayDrive").GetBoolean());
        Assert.True(eligibility.GetProperty("mayTakeTest").GetBoolean());
        Assert.Equal(
            ["beforeLesson eyesight_unchecked", "willLapse licence_check_ends", "willLapse theory_ends"],
            eligibility.GetProperty("papers").EnumerateArray().Select(item => $"{item.GetProperty("matter")} {item.GetProperty("code")}"));
        var audit = await (await office.GetAsync($"/api/v1/audit?aboutId={pupil.Id}")).JsonAsync();
        Assert.Equal(
            "Changed the papers: licence checked by, licence checked on, theory passed on, theory seen by, theory seen on.",
            audit.GetProperty("items").EnumerateArray().Single().GetProperty("words").GetString());
    }

    [Theory]
    [InlineData("theoryPassedOn", "2026-03-03")]
    [InlineData("theoryPassedOn", "2024-05-03")]
    [InlineData("theoryPassedOn", "2010-05-03")]
    [InlineData("licenceCheckedOn", "2026-03-03")]
    [InlineData("licenceCheckedOn", "2010-03-03")]
    public async Task Days_that_cannot_be_are_refused(string field, string day)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var refused = await office.SendAsync(
            HttpMethod.Put, $"/api/v1/pupils/{pupil.Id}/papers", new Dictionary<string, string> { [field] = day }, ("If-Match", "*"));
        Assert.Equal([field], await refused.WrongFieldsAsync());
        Assert.Equal(1, (await host.WithDbAsync(db => db.Set<Pupil>().FindAsync(pupil.Id).AsTask()))!.Version);
    }

    [Fact]
    public async Task A_test_day_after_the_certificate_ends_or_without_one_says_so_and_the_office_sees_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        var rosalind = await host.Data.OfficeAsync();
        using var office = await host.ApiAsAsync(rosalind);
        async Task EnterAsync(string? theory, string? seen = null) => Assert.Equal(HttpStatusCode.OK, (await office.SendAsync(
            HttpMethod.Put, $"/api/v1/pupils/{pupil.Id}/papers", new { theoryPassedOn = theory, licenceCheckedOn = seen }, ("If-Match", "*"))).StatusCode);
        await EnterAsync("2024-05-10");
        // Two years, so until 9 May 2026: from memory.
        var test = await office.EnteredAsync(pupil.Id, Diary.DiaryApi.London(2026, 5, 12, 10, 14));
        Assert.Contains("theory_ends_before_test", test.Warnings());
        await EnterAsync(null);
        var again = await (await office.GetAsync($"{TestDayApi.Path}/{test.GetProperty("id").GetString()}")).JsonAsync();
        Assert.Contains("theory_missing", again.Warnings());
        Assert.Contains("theory certificate", (await AttentionAsync(office))["test_day"], StringComparison.Ordinal);

        await EnterAsync("2024-05-04", "2025-08-01");
        Assert.False((await (await office.GetAsync($"/api/v1/pupils/{pupil.Id}/eligibility")).JsonAsync()).GetProperty("mayTakeTest").GetBoolean());
        host.Clock.AdvanceDays(40);
        using var later = await host.ApiAsAsync(rosalind);
        var attention = await AttentionAsync(later);
        Assert.Contains("counts until 3 May 2026", attention["theory_certificate"], StringComparison.Ordinal);
        Assert.Contains("the last time was 1 August 2025", attention["licence_check"], StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_birth_date_and_a_driver_number_that_disagree_are_refused_on_the_pages_both_ways()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var guarded = $"/pupils/{pupil.Id}/guarded";
        // Published specimen, born 5 July 1964: well formed, but not hers.
        var wrong = await office.PostFormAsync(guarded, ("Version", "1"), ("DriverNumber", "MORGA657054SM9IJ"));
        Assert.Contains("The birth date written in this driver number is not the pupil's", await wrong.TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(guarded, ("Version", "1"), ("DriverNumber", Number), ("TheoryCertificate", "1234 5678"))).StatusCode);

        var changed = await office.PostFormAsync(
            $"/pupils/{pupil.Id}/change", ("Input.Name", pupil.Name), ("Input.Email", pupil.Email), ("Input.Phone", "01632 960002"), ("Input.Gearbox", "Manual"),
            ("Input.BirthDate.Day", "5"), ("Input.BirthDate.Month", "5"), ("Input.BirthDate.Year", "2007"), ("Version", "2"),
            ("Input.PickUp.Label", "Mill Lane"), ("Input.PickUp.Address", "12 Mill Lane, Larkfield"), ("Input.PickUp.Position", "52.4, -1.2"));
        Assert.Contains("This is not the birth date written in the pupil's driver number", await changed.TextAsync(), StringComparison.Ordinal);
        Assert.Equal(new(2007, 5, 4), (await host.WithDbAsync(db => db.Set<Pupil>().FindAsync(pupil.Id).AsTask()))!.BirthDate);
    }

    [Fact]
    public async Task The_number_of_the_certificate_rests_encrypted_and_the_pupil_reads_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var url = $"/api/v1/pupils/{pupil.Id}/guarded";
        Assert.Equal(HttpStatusCode.NoContent, (await office.SendAsync(HttpMethod.Put, url, new { theoryCertificate = "1234-56789" }, ("If-Match", "*"))).StatusCode);
        Assert.Equal(["theoryCertificate"], await (await office.SendAsync(HttpMethod.Put, url, new { theoryCertificate = "12/34" }, ("If-Match", "*"))).WrongFieldsAsync());
        Assert.DoesNotContain("123456789", (await host.WithDbAsync(db => db.Set<Pupil>().FindAsync(pupil.Id).AsTask()))!.TheoryCertificateSealed, StringComparison.Ordinal);
        using var own = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        Assert.Contains("123456789", await (await own.GetAsync("/pupils/me")).TextAsync(), StringComparison.Ordinal);
    }

    private static async Task<IReadOnlyDictionary<string, string>> AttentionAsync(HttpClient office) =>
        (await (await office.GetAsync("/api/v1/attention")).JsonAsync()).GetProperty("items").EnumerateArray()
            .GroupBy(item => item.GetProperty("kind").GetString()!)
            .ToDictionary(group => group.Key, group => string.Join(' ', group.Select(item => item.GetProperty("sentence").GetString())));
}
