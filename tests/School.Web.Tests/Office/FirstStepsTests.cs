using System.Net;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Modules.People;
using School.Web.Platform.Access;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using School.Web.Tests.Messages;

namespace School.Web.Tests.Office;

/// <summary>From an empty database to the first lesson: the first sign-in, who the school is, and steps that tick themselves by what is there.</summary>
public sealed partial class FirstStepsTests(TestPostgres postgres)
{
    private const string Page = "/office/first-steps";
    private const string Chosen = "four winds over larkfield";

    [Fact]
    public async Task Where_nobody_signs_in_the_first_person_does_by_the_code_and_nobody_after_them()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = host.Browser();
        Assert.Equal("/people/first-sign-in", (await browser.GetAsync("/people/sign-in")).Headers.Location?.OriginalString);
        var wrong = await (await BeginAsync(browser, "0000-0000-0000-0000", name: "", email: "ada", password: "short")).TextAsync();
        Assert.Contains("That is not the code", wrong, StringComparison.Ordinal);
        Assert.Contains("Enter your name", wrong, StringComparison.Ordinal);
        Assert.Contains("Use at least 12 characters", wrong, StringComparison.Ordinal);
        Assert.Contains("Input_Email-error", wrong, StringComparison.Ordinal);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<Person>().CountAsync()));

        var begun = await BeginAsync(browser, Code(host).ToLowerInvariant().Replace('-', ' '));
        Assert.Equal("/", begun.Headers.Location?.OriginalString);
        Assert.Equal("/office/who", (await browser.GetAsync("/")).Headers.Location?.OriginalString);
        using var late = host.Browser();
        Assert.Contains("Somebody signs in here already", await (await late.GetAsync("/people/first-sign-in")).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.OK, (await late.GetAsync("/people/sign-in")).StatusCode);
        var token = await late.FormTokenAsync("/people/sign-in");
        Assert.Contains("Somebody signs in here already", await (await PostAsync(late, token, Code(host))).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(["Ada Rook"], await host.WithDbAsync(db => db.Set<Person>().Select(p => p.Name).ToListAsync()));
    }

    [Fact]
    public async Task Of_two_who_begin_at_once_one_does()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var one = host.Browser();
        using var other = host.Browser();
        var tokens = (await one.FormTokenAsync("/people/first-sign-in"), await other.FormTokenAsync("/people/first-sign-in"));
        var answers = await Task.WhenAll(PostAsync(one, tokens.Item1, Code(host), email: "ada@larkfield.example"), PostAsync(other, tokens.Item2, Code(host), email: "bea@larkfield.example"));
        Assert.Equal([HttpStatusCode.OK, HttpStatusCode.Redirect], answers.Select(answer => answer.StatusCode).Order());
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Person>().CountAsync()));
    }

    [Fact]
    public async Task Codes_are_not_guessed_in_bulk()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = host.Browser();
        for (var n = 0; n < BeginHere.MostTries; n++)
        {
            Assert.Contains("That is not the code", await (await BeginAsync(browser, $"GUESS {n}")).TextAsync(), StringComparison.Ordinal);
        }

        Assert.Contains("Too many tries", await (await BeginAsync(browser, Code(host))).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Whoever_was_invited_by_add_office_and_begins_by_the_code_is_one_person_and_the_link_is_over()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.Services.CreateScope().ServiceProvider.GetRequiredService<InvitePerson>()
            .RunAsync(Viewer.Service, new("Ada Rook", "ada@larkfield.example", OfficeParts.All), default);
        var link = await People.Mails.LinkAsync(host, "ada@larkfield.example", "invitation");
        using var browser = host.Browser();
        Assert.Equal(HttpStatusCode.Redirect, (await BeginAsync(browser, Code(host))).StatusCode);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Person>().CountAsync()));
        Assert.Contains("invitation is over", await (await host.Browser().GetAsync(link)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Who_the_school_is_tells_all_that_is_wrong_at_once_and_alone_is_both_hats_from_the_first_minute()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = host.Browser();
        await BeginAsync(browser, Code(host));
        var wrong = await (await browser.PostFormAsync("/office/who", ("Name", "Our driving school"), ("Zone", "Mars/Olympus"), ("Nation", "england-and-wales"))).TextAsync();
        Assert.Contains("Say whether you teach alone", wrong, StringComparison.Ordinal);
        Assert.Contains("Enter a name of its own", wrong, StringComparison.Ordinal);
        Assert.Contains("There is no zone of this name", wrong, StringComparison.Ordinal);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<Instructor>().CountAsync()));

        Assert.Equal(Page, (await WhoAsync(browser, alone: true)).Headers.Location?.OriginalString);
        var html = await (await browser.GetAsync(Page)).TextAsync();
        Assert.Contains("Larkfield Driving School. Times are those of Europe/London.", html, StringComparison.Ordinal);
        Assert.Contains("Ada Rook: still needed before a first lesson: which cars they teach in", html, StringComparison.Ordinal);
        foreach (var place in (string[])["/diary/day", "/diary/board", "/people/school"])
        {
            Assert.Contains($"<a href=\"{place}\"", html, StringComparison.Ordinal);
        }

        // Said again it makes nobody twice.
        await WhoAsync(browser, alone: true);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Instructor>().CountAsync()));
    }

    [Fact]
    public async Task Steps_tick_by_what_is_there_on_every_device_and_untick_when_it_is_gone()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var person = await host.Data.OfficeAsync();
        using var desk = await host.PagesAsAsync(person);
        Assert.Empty(await DoneAsync(desk));
        var instructor = await host.Data.InstructorAsync();
        using var phone = await host.PagesAsAsync(person);
        Assert.Equal(["instructor", "hours", "car"], await DoneAsync(phone));
        var pupil = await host.Data.PupilAsync();
        Assert.Equal(["instructor", "hours", "car", "pupil"], await DoneAsync(desk));
        await host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"DELETE FROM cars.holdings; DELETE FROM diary.working_hours"));
        Assert.Equal(["instructor", "pupil"], await DoneAsync(phone));
        Assert.NotEqual(instructor.Id, pupil.Id);
    }

    [Fact]
    public async Task A_form_that_was_opened_from_the_steps_leads_back_to_them_and_nowhere_that_a_link_says()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        (string, string)[] car = [("Input.Label", "silver hatch"), ("Input.Plate", "LK24 FAB"), ("Input.Gearbox", "Manual"), ("Input.FirstRegistered", "2024-03-01")];
        Assert.Contains("href=\"/office/first-steps\"", await office.GetStringAsync("/cars/new?back=first-steps"), StringComparison.Ordinal);
        Assert.Equal(Page, (await office.PostFormAsync("/cars/new?back=first-steps", car)).Headers.Location?.OriginalString);
        car[1] = ("Input.Plate", "LK24 FAC");
        Assert.StartsWith("/cars/", (await office.PostFormAsync("/cars/new?back=//elsewhere.example", car)).Headers.Location?.OriginalString, StringComparison.Ordinal);
        // What was refused stays where it is.
        Assert.Equal(HttpStatusCode.OK, (await office.PostFormAsync("/cars/new?back=first-steps", car)).StatusCode);
    }

    [Theory]
    [InlineData("", "localhost", false, "School__PublicUrl to the address by which others reach it")]
    [InlineData("", "school.larkfield.example", false, "sets School__PublicUrl=https://school.larkfield.example and starts it anew")]
    [InlineData("https://localhost", "localhost", false, "opens on the machine of the service and nowhere else")]
    [InlineData("https://school.larkfield.example", "school.larkfield.example", true, "by which you came here")]
    [InlineData("https://school.larkfield.example/", "school.larkfield.example", true, "by which you came here")]
    [InlineData("http://school.larkfield.example", "school.larkfield.example", false, "but you came here by https://school.larkfield.example")]
    [InlineData("https://school.larkfield.example", "localhost", false, "open this page by that address")]
    [InlineData("https://larkfield.example/school", "larkfield.example", false, "the service wants a host name of its own")]
    [InlineData("school.larkfield.example", "localhost", false, "which is no address")]
    public async Task The_public_address_is_held_against_the_request(string set, string asked, bool done, string sentence)
    {
        await using var host = await SchoolHost.StartAsync(postgres, settings: ("School:PublicUrl", set));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        using var request = new HttpRequestMessage(HttpMethod.Get, Page) { Headers = { Host = asked } };
        var html = await (await office.SendAsync(request)).TextAsync();
        Assert.Contains(sentence, html, StringComparison.Ordinal);
        Assert.Equal(done, Done().Matches(html).Any(step => step.Groups[1].Value == "address"));
    }

    [Fact]
    public async Task A_letter_counts_once_its_link_came_back_and_not_because_a_server_took_it()
    {
        await using var server = new SmtpListener();
        await using var host = await SchoolHost.StartAsync(postgres, settings: MailBy(server));
        var person = await host.Data.OfficeAsync();
        using var office = await host.PagesAsAsync(person);
        Assert.Contains("Whether they arrive is not known yet", await (await office.GetAsync(Page)).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(Page, (await office.PostFormAsync("/people/account/letters", "/people/account/letters?back=first-steps")).Headers.Location?.OriginalString);
        Assert.Contains("is written and waits", await (await office.GetAsync(Page)).TextAsync(), StringComparison.Ordinal);
        await SendAsync(host);
        var link = Link().Match(Assert.Single(server.Letters).TextBody!).Value;
        Assert.Contains("took a letter to", await (await office.GetAsync(Page)).TextAsync(), StringComparison.Ordinal);

        // A mail server that looks at the link opens it and presses nothing.
        using var elsewhere = host.Browser();
        Assert.Contains("The letter has arrived", await (await elsewhere.GetAsync(link)).TextAsync(), StringComparison.Ordinal);
        Assert.DoesNotContain("mail", await DoneAsync(office));
        Assert.Contains("You can close this page", await (await elsewhere.PostFormAsync(link)).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("mail", await DoneAsync(office));

        // Through another server nothing is known.
        await using var other = host.SecondNode(("Mail:Port", "1"));
        using var there = await other.PagesAsAsync(person);
        Assert.DoesNotContain("mail", await DoneAsync(there));
        Assert.Contains("This link is over", await (await other.Browser().GetAsync(link)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_letter_that_the_server_refuses_is_told_with_its_reason()
    {
        await using var server = new SmtpListener();
        server.Mood = line => line.StartsWith("RCPT", StringComparison.Ordinal) ? new Trouble.Says("550 5.1.1 No such mailbox") : null;
        await using var host = await SchoolHost.StartAsync(postgres, settings: MailBy(server));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        await office.PostFormAsync("/people/account/letters");
        await SendAsync(host);
        Assert.Contains("has not gone: ", await (await office.GetAsync(Page)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Where_there_is_no_mail_server_nothing_is_said_to_be_on_its_way()
    {
        await using var host = await SchoolHost.StartAsync(postgres, settings: ("Mail:Folder", "letters-of-larkfield"));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var html = await (await office.GetAsync(Page)).TextAsync();
        Assert.Contains("each letter becomes a file in ", html, StringComparison.Ordinal);
        Assert.Contains("letters-of-larkfield", html, StringComparison.Ordinal);
        Assert.DoesNotContain("Send me a letter", html, StringComparison.Ordinal);
        await office.PostFormAsync("/people/office", "/people/office?handler=Invite", ("Name", "Bea Rook"), ("Email", "bea@larkfield.example"), ("Parts.Diary", "true"));
        var told = await (await office.GetAsync("/people/office")).TextAsync();
        Assert.Contains("goes nowhere: there is no mail server", told, StringComparison.Ordinal);
        Assert.DoesNotContain("on its way", told, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Where_no_time_fits_since_nothing_is_set_up_every_cause_is_told_with_its_cure()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        foreach (var page in (string[])[$"/diary/lessons/new?pupilId={pupil.Id}", $"/diary/book?pupil={pupil.Id}"])
        {
            var html = await (await office.GetAsync(page)).TextAsync();
            Assert.Contains("Nobody teaches here yet", html, StringComparison.Ordinal);
            Assert.Contains("href=\"/people/instructors/new\"", html, StringComparison.Ordinal);
            Assert.Contains("There is no car yet", html, StringComparison.Ordinal);
            Assert.Contains("href=\"/cars/new\"", html, StringComparison.Ordinal);
            Assert.Contains("href=\"/office/who\"", html, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task A_car_is_added_and_given_in_one_or_not_at_all()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, gone) = (await host.Data.InstructorAsync(), Guid.NewGuid());
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        object Car(Guid by) => new { label = "red hatch", plate = "LK24 FAD", gearbox = "manual", firstRegistered = "2024-03-01", heldBy = by };
        var refused = await api.SendJsonAsync(HttpMethod.Post, "/api/v1/cars", Car(gone));
        Assert.Equal(HttpStatusCode.BadRequest, refused.StatusCode);
        Assert.True((await refused.JsonAsync(HttpStatusCode.BadRequest)).GetProperty("errors").TryGetProperty("heldBy", out _));
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Web.Modules.Cars.Car>().CountAsync()));

        var id = (await (await api.SendJsonAsync(HttpMethod.Post, "/api/v1/cars", Car(instructor.Id))).JsonAsync(HttpStatusCode.Created)).Id();
        var held = await host.WithDbAsync(db => db.Set<Web.Modules.Cars.Holding>().SingleAsync(h => h.CarId == id));
        Assert.Equal((instructor.Id, new NodaTime.LocalDate(2026, 3, 2), null, true), (held.InstructorId, held.From, held.To, held.Standing));
    }

    private static string Code(SchoolHost host)
    {
        using var scope = host.Services.CreateScope();
        return scope.ServiceProvider.GetRequiredService<FirstCode>().Words;
    }

    private static async Task<HttpResponseMessage> BeginAsync(HttpClient browser, string code, string name = "Ada Rook", string email = "ada@larkfield.example", string password = Chosen) =>
        await PostAsync(browser, await browser.FormTokenAsync("/people/first-sign-in"), code, name, email, password);

    private static Task<HttpResponseMessage> PostAsync(
        HttpClient browser, string token, string code, string name = "Ada Rook", string email = "ada@larkfield.example", string password = Chosen) => browser.PostAsync(
        "/people/first-sign-in", new FormUrlEncodedContent(
        [
            new("Input.Code", code), new("Input.Name", name), new("Input.Email", email), new("Input.Password", password), new("__RequestVerificationToken", token),
        ]));

    private static Task<HttpResponseMessage> WhoAsync(HttpClient browser, bool alone) => browser.PostFormAsync(
        "/office/who", ("Alone", alone ? "true" : "false"), ("Name", "Larkfield Driving School"), ("Zone", "Europe/London"), ("Nation", "england-and-wales"));

    private static async Task<IReadOnlyList<string>> DoneAsync(HttpClient browser) =>
        [.. Done().Matches(await browser.GetStringAsync(Page)).Select(step => step.Groups[1].Value)];

    private static (string Key, string Value)[] MailBy(SmtpListener server) =>
        [("Mail:Host", "127.0.0.1"), ("Mail:Port", $"{server.Port}"), ("Mail:Security", "None"), ("Mail:From", "post@larkfield.example"), ("Mail:TimeoutSeconds", "5")];

    private static async Task SendAsync(SchoolHost host)
    {
        await using var scope = host.Services.CreateAsyncScope();
        await scope.ServiceProvider.GetRequiredService<SendDueMessages>().RunAsync(default);
    }

    [GeneratedRegex("<li class=\"done\" data-step=\"([a-z]+)\">")]
    private static partial Regex Done();

    [GeneratedRegex(@"/people/reached\?\S+")]
    private static partial Regex Link();
}
