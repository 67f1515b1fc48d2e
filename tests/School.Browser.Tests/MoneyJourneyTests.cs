using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;
using NodaTime;
using School.Tests;
using School.Web.Modules.Accounts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Access;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>From closed books to hours that are bought, paid for, given back and paid back; and a late cancellation that says what it costs.</summary>
public sealed class MoneyJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Hours_are_sold_paid_for_given_back_and_paid_back_on_a_phone(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var pupil = await host.Data.PupilAsync("Tamsin Oakley", instructor: (await host.Data.InstructorAsync()).Id);
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(await host.Data.OfficeAsync());
        await walk.Page.GotoAsync("/accounts");
        await LookAsync(walk);
        await walk.PressAsync("Open the books");
        await LookAsync(walk);
        await walk.Page.FillAsync("[name='Input.PencePerHour']", "36.5");
        await walk.PressAsync("Open the books");
        Assert.Contains("such as 36 or 36.50", await TextAsync(walk), StringComparison.Ordinal);
        await walk.Page.FillAsync("[name='Input.PencePerHour']", "36");
        await walk.PressAsync("Open the books");
        Assert.EndsWith("/accounts/terms", walk.Page.Url, StringComparison.Ordinal);
        await LookAsync(walk);
        await walk.Page.FillAsync("[name='Input.Text']", "A late cancellation costs the price of the lesson.");
        await walk.PressAsync("Write the terms");

        await walk.Page.GotoAsync($"/pupils/{pupil.Id}");
        Assert.Contains("nothing to pay", await TextAsync(walk), StringComparison.Ordinal);
        await walk.Page.GetByRole(AriaRole.Link, new() { Name = "Account", Exact = true }).Last.ClickAsync();
        await LookAsync(walk);
        await walk.PressAsync("Sell hours");
        await LookAsync(walk);
        Assert.Equal("360.00", await walk.Page.InputValueAsync("[name='Input.Pence']"));
        await walk.Page.FillAsync("[name='Input.Pence']", "340");
        await walk.PressAsync("Sell");
        Assert.Equal("340.00", await walk.Page.InputValueAsync("[name='Input.Pence']"));
        await LookAsync(walk);
        await walk.Page.GetByLabel("Card", new() { Exact = true }).CheckAsync();
        await walk.PressAsync("Take it");
        Assert.Contains("£340.00 taken, receipt 1.", await TextAsync(walk), StringComparison.Ordinal);
        Assert.Contains("10 hours prepaid and still to be taught", await TextAsync(walk), StringComparison.Ordinal);
        await LookAsync(walk);

        await walk.PressAsync("Give back");
        Assert.Contains("£340.00: all of the price", await TextAsync(walk), StringComparison.Ordinal);
        await LookAsync(walk);
        await walk.PressAsync("Give back £340.00");
        Assert.Contains("£340.00 held for them", await TextAsync(walk), StringComparison.Ordinal);
        await walk.PressAsync("Pay back");
        Assert.Equal("340.00", await walk.Page.InputValueAsync("[name='Input.Pence']"));
        await walk.Page.GetByLabel("Card", new() { Exact = true }).CheckAsync();
        await walk.PressAsync("Pay back");
        Assert.Contains("£340.00 paid back, receipt 2.", await TextAsync(walk), StringComparison.Ordinal);
        await walk.Page.GotoAsync("/accounts");
        await LookAsync(walk);
        await walk.PressAsync("Trial balance");
        await LookAsync(walk);
        await walk.Page.GotoAsync("/accounts/prices");
        await LookAsync(walk);
        await walk.Page.GotoAsync("/accounts/fees");
        await LookAsync(walk);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_pupil_accepts_the_terms_and_is_told_what_a_late_cancellation_costs_before_the_press(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await host.OpenBooksAsync(late: 50);
        await using (var scope = host.Services.CreateAsyncScope())
        {
            Assert.True((await scope.ServiceProvider.GetRequiredService<WriteTerms>().RunAsync(
                Viewer.Service, new() { Text = "A late cancellation costs half the price." }, CancellationToken.None)).Ok);
        }

        var instructor = await host.Data.InstructorAsync();
        var car = await host.WithDbAsync(db => Task.FromResult(db.Set<Web.Modules.Cars.Car>().First()));
        var pupil = await host.Data.PupilAsync("Tamsin Oakley", instructor: instructor.Id);
        var start = new LocalDateTime(2026, 3, 5, 10, 0).InZoneStrictly(SchoolHost.London).ToInstant();
        var lesson = Lesson.Book(pupil.Id, instructor.Id, car.Id, new(start, start + Duration.FromHours(1)), TestData.PlaceAt(), TestData.PlaceAt(), host.Clock.GetCurrentInstant());
        await host.AddAsync(lesson);
        var id = lesson.Id;
        host.Clock.Reset(start - Duration.FromHours(3));
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(await host.Data.PersonAsync(pupil));
        await walk.Page.GotoAsync($"/diary/lessons/{id}/cancel?reason=Pupil");
        Assert.Contains("Nothing is asked: you have not accepted terms that name it.", await TextAsync(walk), StringComparison.Ordinal);
        await walk.Page.GotoAsync("/accounts/mine");
        await LookAsync(walk);
        await walk.Page.GetByText("Read the school’s terms").ClickAsync();
        await walk.PressAsync("I accept these terms");
        Assert.Contains("Thank you: the terms are accepted.", await TextAsync(walk), StringComparison.Ordinal);
        await walk.Page.GotoAsync($"/diary/lessons/{id}/cancel?reason=Pupil");
        Assert.Contains("£18.00 is owed, 50 % of the price.", await TextAsync(walk), StringComparison.Ordinal);
        await LookAsync(walk);
        await walk.PressAsync("Cancel lesson for £18.00");
        Assert.Contains("Lesson cancelled, charge applies.", await TextAsync(walk), StringComparison.Ordinal);
        await walk.Page.GotoAsync("/accounts/mine");
        Assert.Contains("£18.00 to pay", await TextAsync(walk), StringComparison.Ordinal);
        Assert.Contains("Late cancellation, lesson of Thursday 5 March, 10:00: charged", await TextAsync(walk), StringComparison.Ordinal);
        await LookAsync(walk);
    }

    private static async Task LookAsync(Walk walk)
    {
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
    }

    private static async Task<string> TextAsync(Walk walk) => System.Text.RegularExpressions.Regex.Replace(await walk.Page.Locator("body").InnerTextAsync(), "\\s+", " ");
}
