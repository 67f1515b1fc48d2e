using System.Net;
using Microsoft.EntityFrameworkCore;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Time;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.School;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

public sealed class OfficePagesTests(TestPostgres postgres)
{
    private static readonly (string Name, string Value)[] Filled =
    [
        ("Input.Name", "Marigold Ashby"), ("Input.Email", "marigold@larkfield.example"), ("Input.Phone", "01632 960123"), ("Input.Manual", "true"),
        ("Input.Automatic", "false"), ("Input.Registration", "Trainee"), ("Input.RegistrationNumber", "ab 12345"), ("Input.RegisteredFrom", "1 3 2026"),
        ("Input.RegisteredTo", "2026-08-31"), ("Input.DailyTeachingMinutes", ""), ("Input.Base.Label", "Mill Lane"),
        ("Input.Base.Address", "12 Mill Lane, Larkfield"), ("Input.Base.Postcode", ""), ("Input.Base.Position", "52.4, -1.2"),
    ];

    [Fact]
    public async Task An_instructor_is_added_listed_changed_and_let_go_on_the_pages()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains("No instructors yet", await (await office.GetAsync("/people/instructors")).TextAsync(), StringComparison.Ordinal);
        var added = await office.PostFormAsync("/people/instructors/new", Filled);
        var page = added.Headers.Location!.OriginalString;
        var row = await RowAsync(host);
        Assert.Equal(("Marigold Ashby", "+441632960123", RegistrationKind.Trainee, "AB12345"), (row.Name, row.Phone, row.Registration, row.RegistrationNumber));
        Assert.Equal([Gearbox.Manual], row.Teaches);

        var form = await (await office.GetAsync(page)).TextAsync();
        Assert.Contains("value=\"52.4, -1.2\"", form, StringComparison.Ordinal);
        Assert.Contains("Marigold Ashby is added", form, StringComparison.Ordinal);
        Assert.Contains("01632 960123", await (await office.GetAsync("/people/instructors")).TextAsync(), StringComparison.Ordinal);
        var changed = await office.PostFormAsync(page, [.. Filled[1..], ("Input.Name", "Marigold Fenn"), ("Version", "1")]);
        Assert.Equal(HttpStatusCode.Redirect, changed.StatusCode);
        Assert.Equal("Marigold Fenn", (await RowAsync(host)).Name);

        var without = await office.PostFormAsync(page, $"{page}?handler=Retire", ("Version", "2"), ("On", ""));
        var unsaid = await without.TextAsync();
        Assert.Contains("Enter the day from which they teach no more", unsaid, StringComparison.Ordinal);
        // The other form of the page still stands there as it is kept.
        Assert.Contains("value=\"Marigold Fenn\"", unsaid, StringComparison.Ordinal);
        Assert.Contains("value=\"52.4, -1.2\"", unsaid, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(page, $"{page}?handler=Retire", ("Version", "2"), ("On", "2026-03-02"))).StatusCode);
        Assert.Contains("No instructors yet", await (await office.GetAsync("/people/instructors")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Marigold Fenn", await (await office.GetAsync("/people/instructors?retired=true")).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(page, $"{page}?handler=Retire", ("Version", "3"))).StatusCode);
        Assert.Null((await RowAsync(host)).RetiredOn);
    }

    [Fact]
    public async Task A_bad_form_says_what_is_wrong_beside_each_field_keeps_what_was_typed_and_saves_nothing()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var answer = await office.PostFormAsync(
            "/people/instructors/new",
            ("Input.Name", "Marigold <b>Ashby</b>"), ("Input.Email", "nonsense"), ("Input.Phone", "12"), ("Input.RegistrationNumber", "a-b"), ("Input.Base.Position", "far away"));
        var text = await answer.Content.ReadAsStringAsync();
        foreach (var field in new[] { "Email", "Phone", "RegistrationNumber", "Base_Position" })
        {
            Assert.Contains($"id=\"Input_{field}-error\"", text, StringComparison.Ordinal);
        }

        Assert.Contains("value=\"Marigold &lt;b&gt;Ashby&lt;/b&gt;\"", text, StringComparison.Ordinal);
        Assert.Contains("value=\"far away\"", text, StringComparison.Ordinal);
        // Beside a position the place needs no name.
        Assert.DoesNotContain("id=\"Input_Base_Label-error\"", text, StringComparison.Ordinal);
        Assert.False(await host.WithDbAsync(db => db.Set<Instructor>().AnyAsync()));

        var dates = await office.PostFormAsync("/people/instructors/new", [.. Filled.Where(f => f.Name != "Input.RegisteredTo"), ("Input.RegisteredTo", "31 2 2026")]);
        Assert.Contains("Enter a real date", await dates.TextAsync(), StringComparison.Ordinal);

        // What is known of somebody who teaches is not left out again.
        var known = await host.Data.InstructorAsync();
        var emptied = await (await office.PostFormAsync($"/people/instructors/{known.Id}", ("Version", "1"), ("Input.Name", "Marigold Ashby"), ("Input.Phone", "01632 960001"))).TextAsync();
        foreach (var field in new[] { "Registration", "RegistrationNumber", "RegisteredTo", "Base_Label", "Base_Position" })
        {
            Assert.Contains($"id=\"Input_{field}-error\"", emptied, StringComparison.Ordinal);
        }

        Assert.Contains("Choose at least one gearbox", emptied, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_form_that_was_opened_before_somebody_elses_change_is_not_saved_over_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = $"/people/instructors/{instructor.Id}";
        await office.PostFormAsync(page, [.. Filled[1..], ("Input.Name", "First Change"), ("Version", "1")]);
        var stale = await office.PostFormAsync(page, [.. Filled[1..], ("Input.Name", "Second Change"), ("Version", "1")]);
        var text = await stale.TextAsync();
        Assert.Contains("Somebody changed this after you opened it", text, StringComparison.Ordinal);
        Assert.Contains("value=\"Second Change\"", text, StringComparison.Ordinal);
        Assert.Equal("First Change", (await RowAsync(host)).Name);
    }

    [Fact]
    public async Task The_schools_profile_is_changed_and_checked()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        (string, string)[] fields =
        [
            ("Version", "1"), ("Input.Name", "Larkfield Driving School"), ("Input.Phone", "01632 960000"), ("Input.Email", "hello@larkfield.example"),
            ("Input.TwelveHourClock", "true"), ("Input.Nation", "scotland"), ("Input.Terms", "Bring your licence.\r\n\r\nBe early."),
        ];
        var wrong = await office.PostFormAsync("/people/school", [.. fields, ("Input.Zone", "GMT Standard Time")]);
        Assert.Contains("There is no zone of this name", await wrong.TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync("/people/school", [.. fields, ("Input.Zone", "Europe/London")])).StatusCode);
        var row = await host.WithDbAsync(db => db.Set<SchoolProfile>().SingleAsync());
        Assert.Equal(("Larkfield Driving School", "+441632960000", "scotland", true), (row.Name, row.Phone, row.Nation, row.TwelveHourClock));
        Assert.Equal("Bring your licence.\n\nBe early.", row.Terms);
        var stale = await office.PostFormAsync("/people/school", [.. fields, ("Input.Zone", "Europe/London")]);
        Assert.Contains("Somebody changed this after you opened it", await stale.TextAsync(), StringComparison.Ordinal);
    }

    private static Task<Instructor> RowAsync(SchoolHost host) => host.WithDbAsync(db => db.Set<Instructor>().AsNoTracking().SingleAsync());
}
