using System.Net;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Pupils;
using School.Web.Modules.Records;
using School.Web.Tests.Host;

namespace School.Web.Tests.Pupils;

public sealed class PupilPageTests(TestPostgres postgres)
{
    private static readonly (string Name, string Value)[] Typed =
    [
        ("Input.Name", "ليلى 🚗 Oakley"), ("Input.BirthDate.Day", "4"), ("Input.BirthDate.Month", "5"), ("Input.BirthDate.Year", "2009"),
        ("Input.Gearbox", "Automatic"), ("Input.Email", "layla@larkfield.example"), ("Input.Phone", "01632 960123"),
        ("Input.PickUp.Label", "Mill Lane"), ("Input.PickUp.Address", "12 Mill Lane"), ("Input.PickUp.Position", "52.4, -1.2"),
        ("Input.HealthNotes", "Wears a hearing aid."), ("Input.Need", "Roundabouts"),
    ];

    [Fact]
    public async Task The_office_adds_a_pupil_who_is_too_young_and_reads_when_they_may_start()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var added = await office.PostFormAsync("/pupils/new", Typed);
        Assert.Equal(HttpStatusCode.Redirect, added.StatusCode);
        var page = await (await office.GetAsync(added.Headers.Location)).TextAsync();
        Assert.Contains("ليلى 🚗 Oakley", page, StringComparison.Ordinal);
        Assert.Contains("Monday 4 May 2026", page, StringComparison.Ordinal);
        Assert.DoesNotContain("hearing aid", page, StringComparison.Ordinal);
        Assert.Contains("ليلى", await (await office.GetAsync("/pupils?q=960123")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Nobody found", await (await office.GetAsync("/pupils?q=marsh")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_place_without_a_name_of_its_own_is_home()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var added = await office.PostFormAsync(
            "/pupils/new", ("Input.Name", "Corin Vale"), ("Input.Phone", "01632 960124"), ("Input.PickUp.Postcode", "LK3 4AB"), ("Input.PickUp.Position", "52.4, -1.2"));
        Assert.Equal(HttpStatusCode.Redirect, added.StatusCode);
        Assert.Equal("Home", (await host.WithDbAsync(db => db.Set<Pupil>().SingleAsync())).PickUp.Label);
    }

    [Fact]
    public async Task A_wrong_pupil_keeps_what_was_typed_and_says_what_is_wrong()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var answer = await office.PostFormAsync("/pupils/new", [.. Typed.Where(f => f.Name != "Input.PickUp.Position"), ("Input.PickUp.Position", "behind the mill")]);
        var page = await answer.TextAsync();
        Assert.Contains("ليلى 🚗 Oakley", page, StringComparison.Ordinal);
        Assert.Contains("behind the mill", page, StringComparison.Ordinal);
        Assert.Contains("Enter latitude and longitude with a comma between", page, StringComparison.Ordinal);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<Pupil>().CountAsync()));
    }

    [Fact]
    public async Task The_page_shows_what_is_guarded_only_behind_the_button_which_leaves_a_line()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var url = (await office.PostFormAsync("/pupils/new", Typed)).Headers.Location!.ToString();
        Assert.DoesNotContain("hearing aid", await (await office.GetAsync($"{url}/guarded")).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<AuditEntry>().CountAsync(a => a.What == "pupil.guarded.read")));
        var shown = await office.PostFormAsync(url, $"{url}/guarded?handler=Show");
        Assert.Contains("hearing aid", await shown.TextAsync(), StringComparison.Ordinal);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<AuditEntry>().CountAsync(a => a.What == "pupil.guarded.read")));
        Assert.Contains("Opened the driver number and health notes.", await (await office.GetAsync("/records/audit")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_office_changes_a_pupil_and_invites_them()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var url = (await office.PostFormAsync("/pupils/new", Typed)).Headers.Location!.ToString();
        var changed = await office.PostFormAsync($"{url}/change", [.. Typed.Where(f => f.Name is not ("Input.Name" or "Input.HealthNotes")), ("Input.Name", "Layla Oakley"), ("Version", "1")]);
        Assert.Equal(HttpStatusCode.Redirect, changed.StatusCode);
        var pupil = await host.WithDbAsync(db => db.Set<Pupil>().SingleAsync());
        Assert.Equal("Layla Oakley", pupil.Name);
        Assert.NotNull(pupil.HealthNotesSealed);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(url, $"{url}?handler=Invite")).StatusCode);
        Assert.Contains("no password chosen yet", await (await office.GetAsync(url)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_pupil_keeps_their_own_details_right_and_opens_nobody_elses_page()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var pages = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        (string, string)[] details =
        [
            ("Version", "1"), ("Input.Email", "tamsin@larkfield.example"), ("Input.Phone", "07700 900456"),
            ("Input.PickUp.Label", "College"), ("Input.PickUp.Address", "College Road"), ("Input.PickUp.Position", "geo:52.41,-1.21"),
        ];
        Assert.Equal(HttpStatusCode.Redirect, (await pages.PostFormAsync("/pupils/me", details)).StatusCode);
        var kept = await host.WithDbAsync(db => db.Set<Pupil>().SingleAsync());
        Assert.Equal(("+447700900456", 52.41), (kept.Phone, kept.PickUp.Latitude));
        foreach (var closed in new[] { "/pupils", "/pupils/new", $"/pupils/{pupil.Id}", $"/pupils/{pupil.Id}/guarded" })
        {
            Assert.Contains("not-allowed", (await pages.GetAsync(closed)).Headers.Location?.ToString() ?? "", StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task What_allows_a_lesson_is_named_and_a_missing_driver_number_asked_for_beside_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        await host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.EyesightCheckedOn, new LocalDate(2026, 2, 2))));
        using var pages = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        const string Allowed = "Age, driving licence and eyesight check allow a lesson today.";
        var own = await (await pages.GetAsync("/pupils/me")).TextAsync();
        Assert.Contains(Allowed, own, StringComparison.Ordinal);
        Assert.Contains("For the driver number, show your licence at the next lesson.", own, StringComparison.Ordinal);
        var theirs = await (await office.GetAsync($"/pupils/{pupil.Id}")).TextAsync();
        Assert.Contains(Allowed, theirs, StringComparison.Ordinal);
        Assert.Contains("The driver number is not recorded", theirs, StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_address_that_changes_without_its_position_is_asked_about_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var pages = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        (string, string)[] details =
        [
            ("Version", "1"), ("Input.Email", "tamsin@larkfield.example"), ("Input.Phone", "07700 900456"),
            ("Input.PickUp.Label", "College"), ("Input.PickUp.Address", "College Road"), ("Input.PickUp.Position", "52.4, -1.2"),
        ];
        Assert.DoesNotContain("The position is still right", await pages.GetStringAsync("/pupils/me"), StringComparison.Ordinal);
        var asked = await (await pages.PostFormAsync("/pupils/me", [.. details, ("Input.PickUp.StillRight", "false")])).TextAsync();
        Assert.Contains("id=\"Input_PickUp_Position-error\">The address changed but the position did not.", asked, StringComparison.Ordinal);
        Assert.Contains("name=\"Input.PickUp.StillRight\" type=\"checkbox\"", asked, StringComparison.Ordinal);
        var kept = await pages.PostFormAsync("/pupils/me", [.. details, ("Input.PickUp.StillRight", "true"), ("Input.PickUp.StillRight", "false")]);
        Assert.Equal(HttpStatusCode.Redirect, kept.StatusCode);
        Assert.Equal("College Road", (await host.WithDbAsync(db => db.Set<Pupil>().SingleAsync())).PickUp.Address);
    }

    [Fact]
    public async Task Staff_find_the_next_three_lessons_and_the_way_to_book_on_the_page_of_the_pupil()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        await host.WithLessonsAheadAsync(4, pupil.Id);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await office.GetAsync($"/pupils/{pupil.Id}")).TextAsync();
        Assert.Equal(3, Regex.Count(page, "<a href=\"/diary/lessons/"));
        Assert.Contains($"href=\"/diary/book?pupil={pupil.Id}\"", page, StringComparison.Ordinal);
        Assert.Contains($"href=\"/diary/lessons?pupil={pupil.Id}\"", page, StringComparison.Ordinal);
        Assert.Contains("href=\"tel:+441632960002\"", page, StringComparison.Ordinal);
        Assert.Contains("The driver number is not recorded", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_instructor_notes_the_need_and_the_eyesight_check_and_cannot_invite()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var teacher = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: teacher.Id);
        using var pages = await host.PagesAsAsync(await host.Data.PersonAsync(teacher));
        var url = $"/pupils/{pupil.Id}/teaching";
        Assert.Equal(HttpStatusCode.Redirect, (await pages.PostFormAsync(url, ("Version", "1"), ("Need", "Hill starts"), ("Notes", "Calm."))).StatusCode);
        Assert.Equal(HttpStatusCode.Redirect, (await pages.PostFormAsync(url, $"{url}?handler=Eyesight", ("On", "2026-03-02"))).StatusCode);
        Assert.Contains("lies in the future", await (await pages.PostFormAsync(url, $"{url}?handler=Eyesight", ("On", "2026-03-03"))).TextAsync(), StringComparison.Ordinal);
        var page = await (await pages.GetAsync($"/pupils/{pupil.Id}")).TextAsync();
        Assert.Contains("Hill starts", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Invite", page, StringComparison.Ordinal);
        var invited = await pages.PostFormAsync(url, $"/pupils/{pupil.Id}?handler=Invite");
        Assert.Contains("not-allowed", invited.Headers.Location?.ToString() ?? "", StringComparison.Ordinal);
    }
}
