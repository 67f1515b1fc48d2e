using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages;
using School.Web.Modules.People;
using School.Web.Modules.People.SignIn;
using School.Web.Tests.Host;
using School.Web.Tests.Messages;

namespace School.Browser.Tests;

/// <summary>From nothing to the first booked lesson, on a phone: at most so many presses and fields, alone and as a school, with scripts and without.</summary>
public sealed partial class BeginJourneyTests(TestPostgres postgres, Chromium chromium)
{
    private const int MostPresses = 20;
    private const int MostFields = 25;
    private const string Password = "four winds over larkfield";

    [Theory]
    [InlineData(true, true)]
    [InlineData(true, false)]
    [InlineData(false, true)]
    [InlineData(false, false)]
    public async Task A_school_begins_and_books_its_first_lesson(bool alone, bool scripts)
    {
        await using var server = new SmtpListener();
        await using var host = await SchoolHost.ListeningAsync(
            postgres, ("School:StaffSecondStep", "required"), ("School:PublicUrl", ""), ("Mail:Host", "127.0.0.1"), ("Mail:Port", $"{server.Port}"), ("Mail:Security", "None"),
            ("Mail:From", "post@larkfield.example"));
        await using var walk = await Walk.StartAsync(chromium, host.Url, new(JavaScript: scripts));
        var count = new Count(walk);

        // The first sign-in, by the code that the service printed, and the second step that the school wants of staff.
        await walk.Page.GotoAsync("/");
        await FitAsync(walk);
        await count.FillAsync("#Input_Code", CodeOf(host));
        await count.FillAsync("#Input_Name", "Ada Rook");
        await count.FillAsync("#Input_Email", "ada@larkfield.example");
        await count.FillAsync("#Input_Password", Password);
        await count.PressAsync("Begin");
        await count.FillAsync("#Present", Password);
        await count.PressAsync("Start");
        var key = (await walk.Page.Locator("main code").InnerTextAsync()).Replace(" ", "", StringComparison.Ordinal);
        await count.FillAsync("#Code", Totp.Code(Totp.FromBase32(key), Totp.StepOf(host.Clock.GetCurrentInstant())));
        await count.PressAsync("Turn it on");
        await count.PressAsync("I have kept them");

        // Who the school is.
        await FitAsync(walk);
        await count.CheckAsync(alone ? "I teach, alone" : "Others teach, or others too");
        await count.FillAsync("#Name", "Larkfield Driving School");
        await count.PressAsync("Save and go on");
        await ExpectDoneAsync(walk, "who");
        await FitAsync(walk);

        // A letter really sent. Its link leads to where the service listens, whatever the port.
        await count.PressAsync("Send me a letter");
        await SendAsync(host);
        await count.FollowAsync(Link().Match(Assert.Single(server.Letters).TextBody!).Value);
        await FitAsync(walk);
        await count.PressAsync("It has arrived");
        await ExpectDoneAsync(walk, "mail");

        await count.PressAsync(alone ? "Enter it" : "Add an instructor");
        if (!alone)
        {
            await count.FillAsync("#Input_Name", "Bea Rook");
            await count.FillAsync("#Input_Phone", "01632 960123");
        }

        await count.CheckAsync("Manual cars");
        await count.CheckAsync("Approved driving instructor");
        await count.FillAsync("#Input_RegistrationNumber", "AB123");
        await count.FillAsync("#Input_RegisteredTo", "2028-03-01");
        await count.FillAsync("#Input_Base_Position", "52.4003, -1.2004");
        await count.PressAsync(alone ? "Save changes" : "Add this instructor");
        await ExpectDoneAsync(walk, "instructor");

        await count.PressAsync("Add hours");
        await count.PressAsync("Save hours");
        await ExpectDoneAsync(walk, "hours");

        await count.PressAsync("Add a car");
        await count.FillAsync("#Input_Label", "silver hatch");
        await count.FillAsync("#Input_Plate", "LK24 FAB");
        await count.FillDateAsync("Input_FirstRegistered", "1", "3", "2024");
        await count.PressAsync("Add this car");
        await ExpectDoneAsync(walk, "car");

        await count.PressAsync("Add a pupil");
        await count.FillAsync("#Input_Name", "Corin Vale");
        await count.FillAsync("#Input_Phone", "07700 900123");
        await count.FillDateAsync("Input_BirthDate", "4", "5", "2008");
        await count.SelectAsync("#Input_Licence_Kind", "Provisional");
        await count.FillDateAsync("Input_Licence_ValidFrom", "4", "2", "2025");
        await count.FillAsync("#Input_PickUp_Position", "52.41, -1.21");
        await count.PressAsync("Add this pupil");
        await ExpectDoneAsync(walk, "pupil");

        await count.PressAsync("Find a time");
        await count.PressAsync(walk.Page.Locator("main table.rows th a").First);
        await count.PressAsync(walk.Page.Locator("main form[method=post] button.main"));
        await walk.Page.WaitForURLAsync("**/diary/lessons/*");
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Lesson>().CountAsync()));
        Assert.True(count.Presses <= MostPresses, $"{count.Presses} presses");
        Assert.True(count.Fields <= MostFields, $"{count.Fields} fields");
        TestContext.Current.SendDiagnosticMessage($"{(alone ? "alone" : "a school")}: {count.Presses} presses, {count.Fields} fields");

        // Now they begin where they work, and alone that is one navigation of both hats.
        await walk.Page.GotoAsync("/");
        Assert.EndsWith(alone ? "/diary/day" : "/diary/board", walk.Page.Url, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Half_way_is_taken_up_on_another_device()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var office = await host.Data.OfficeAsync();
        await host.Data.InstructorAsync();
        await using var desk = await Walk.StartAsync(chromium, host.Url, Screen.Desk);
        await desk.SignInAsync(office);
        await desk.Page.GotoAsync("/office/first-steps");
        await ExpectDoneAsync(desk, "car");
        await desk.PressAsync("Add a pupil");

        await using var phone = await Walk.StartAsync(chromium, host.Url, Screen.Phone);
        await phone.SignInAsync(office);
        await phone.Page.GotoAsync("/office/first-steps");
        await phone.PressAsync("Add a pupil");
        await phone.Page.Locator("#Input_Name").FillAsync("Corin Vale");
        await phone.Page.Locator("#Input_Phone").FillAsync("07700 900123");
        await phone.PressAsync("Add this pupil");
        await Assertions.Expect(phone.Page.Locator("[data-step=pupil]")).ToContainTextAsync("Corin Vale: still needed before a first lesson");

        // The desk goes back to the steps and finds them as they are.
        await desk.PressAsync("Back to the first steps");
        await Assertions.Expect(desk.Page.Locator("[data-step=pupil]")).ToContainTextAsync("Corin Vale: still needed before a first lesson");
    }

    private static Task ExpectDoneAsync(Walk walk, string step) => Assertions.Expect(walk.Page.Locator($"[data-step={step}].done")).ToBeVisibleAsync();

    private static async Task FitAsync(Walk walk)
    {
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await walk.ExpectFormsCarryTokensAsync();
    }

    private static string CodeOf(SchoolHost host)
    {
        using var scope = host.Services.CreateScope();
        return scope.ServiceProvider.GetRequiredService<FirstCode>().Words;
    }

    private static async Task SendAsync(SchoolHost host)
    {
        await using var scope = host.Services.CreateAsyncScope();
        await scope.ServiceProvider.GetRequiredService<SendDueMessages>().RunAsync(default);
    }

    [GeneratedRegex(@"http://\S+/people/reached\?\S+")]
    private static partial Regex Link();

    /// <summary>Counts what somebody does: a press is a button or link followed, a field is one thing that is filled in, however many boxes it has.</summary>
    private sealed class Count(Walk walk)
    {
        public int Presses { get; private set; }

        public int Fields { get; private set; }

        public Task PressAsync(string words) =>
            PressAsync(walk.Page.Locator("main").GetByRole(AriaRole.Button, new() { Name = words }).Or(walk.Page.Locator("main").GetByRole(AriaRole.Link, new() { Name = words })).First);

        public Task PressAsync(ILocator what)
        {
            Presses++;
            return what.ClickAsync();
        }

        public Task<IResponse?> FollowAsync(string link)
        {
            Presses++;
            return walk.Page.GotoAsync(link);
        }

        public Task FillAsync(string field, string value)
        {
            Fields++;
            return walk.Page.Locator(field).FillAsync(value);
        }

        public Task CheckAsync(string label)
        {
            Fields++;
            return walk.Page.GetByLabel(label, new() { Exact = true }).CheckAsync();
        }

        public Task<IReadOnlyList<string>> SelectAsync(string field, string value)
        {
            Fields++;
            return walk.Page.Locator(field).SelectOptionAsync(value);
        }

        public async Task FillDateAsync(string field, string day, string month, string year)
        {
            Fields++;
            foreach (var (part, value) in new[] { ("Day", day), ("Month", month), ("Year", year) })
            {
                await walk.Page.Locator($"#{field}_{part}").FillAsync(value);
            }
        }
    }
}
