using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>A parent of two pupils with one address between the three: three sign-ins, and of each pupil what that pupil allows.</summary>
public sealed partial class ParentJourneyTests(TestPostgres postgres, Chromium chromium)
{
    private const string Family = "bell@larkfield.example";
    private const string Chosen = "four winds over larkfield";

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_parent_of_two_with_one_address_signs_in_sees_what_each_allows_and_no_more_once_it_is_taken_back(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host);
        var screen = Screen.Phone with { JavaScript = javaScript };
        var tamsin = await host.WithDbAsync(db => db.Set<Pupil>().SingleAsync(p => p.Name == "Tamsin Oakley"));
        await host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == tamsin.Id || p.Id == day.Idris.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Email, Family)));
        var ahead = host.Clock.GetCurrentInstant() + Duration.FromDays(3);
        await host.AddAsync(
            Lesson.Book(day.Idris.Id, day.Marigold.Id, day.Car.Id, new(ahead, ahead + Duration.FromHours(1)), day.Idris.PickUp, day.Idris.PickUp, host.Clock.GetCurrentInstant()),
            Lesson.Book(tamsin.Id, day.Marigold.Id, day.Car.Id, new(ahead + Duration.FromHours(2), ahead + Duration.FromHours(3)), tamsin.PickUp, tamsin.PickUp, host.Clock.GetCurrentInstant()));
        // The address is nobody's name: each chose one.
        await host.Data.WearerAsync("Idris Bell", Family, pupil: day.Idris.Id, signInName: "idris.bell");
        await host.Data.WearerAsync("Tamsin Oakley", Family, pupil: tamsin.Id, signInName: "tamsin.oakley");

        // Idris puts his mother beside him, and invites her.
        await using var pupil = await Walk.StartAsync(chromium, url, screen);
        await SignInAsync(pupil, "idris.bell", SchoolHost.Password);
        await pupil.Page.GotoAsync($"/pupils/{day.Idris.Id}/beside");
        await pupil.Page.GetByLabel("Name", new() { Exact = true }).FillAsync("Rowan Bell");
        await pupil.Page.GetByLabel("Parent", new() { Exact = true }).CheckAsync();
        await pupil.Page.GetByLabel("E-mail address").FillAsync(Family);
        await pupil.Page.GetByLabel("When and where lessons and tests are").CheckAsync();
        await pupil.Page.GetByLabel("How far you have come").CheckAsync();
        await pupil.Page.GetByRole(Microsoft.Playwright.AriaRole.Button, new() { Name = "Add", Exact = true }).ClickAsync();
        await pupil.ExpectAccessibleAsync();
        await pupil.ExpectNoSidewaysScrollAsync();
        await pupil.PressAsync("Invite to sign in");
        Assert.Contains("is written, but the school sends no e-mail yet. Ask the office to pass its link on.", await pupil.Page.Locator("body").InnerTextAsync(), StringComparison.Ordinal);

        // The office puts her beside the other one too, who allows the lessons alone.
        var rowan = await host.WithDbAsync(db => db.Set<Contact>().SingleAsync(c => c.Name == "Rowan Bell"));
        await using var office = await Walk.StartAsync(chromium, url, screen);
        await office.SignInAsync(await host.Data.OfficeAsync());
        await office.Page.GotoAsync($"/pupils/{tamsin.Id}/beside?contact={rowan.Id}");
        await office.Page.GetByLabel("When and where lessons and tests are").CheckAsync();
        await office.Page.GetByLabel("The pupil has agreed to this").CheckAsync();
        await office.Page.GetByRole(Microsoft.Playwright.AriaRole.Button, new() { Name = "Add", Exact = true }).ClickAsync();

        // She chooses a name of her own and begins with both.
        await using var parent = await Walk.StartAsync(chromium, url, screen);
        await parent.Page.GotoAsync(await LinkAsync(host));
        await parent.Page.GetByLabel("Name to sign in with").FillAsync("rowan.bell");
        await parent.Page.GetByLabel("Password").FillAsync(Chosen);
        await parent.ExpectAccessibleAsync();
        await parent.ExpectNoSidewaysScrollAsync();
        await parent.PressAsync("Use this password and sign in");
        Assert.EndsWith("/diary/beside", parent.Page.Url, StringComparison.Ordinal);
        var home = await parent.Page.Locator("main").InnerTextAsync();
        Assert.Contains("Idris Bell", home, StringComparison.Ordinal);
        Assert.Contains("Tamsin Oakley", home, StringComparison.Ordinal);
        Assert.Contains("Quarry Rise", home, StringComparison.Ordinal);
        Assert.Contains("Mill Lane", home, StringComparison.Ordinal);
        await parent.ExpectAccessibleAsync();
        await parent.ExpectNoSidewaysScrollAsync();
        Assert.Equal(1, await parent.Page.GetByRole(Microsoft.Playwright.AriaRole.Link, new() { Name = "Progress of Idris Bell" }).CountAsync());
        Assert.Equal(0, await parent.Page.GetByRole(Microsoft.Playwright.AriaRole.Link, new() { Name = "Progress of Tamsin Oakley" }).CountAsync());
        await parent.PressAsync("Progress of Idris Bell");
        Assert.Contains("skills started", await parent.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        await parent.ExpectAccessibleAsync();
        await parent.ExpectNoSidewaysScrollAsync();
        await parent.Page.GotoAsync("/diary/beside");
        await parent.PressAsync("Lessons of Tamsin Oakley");
        Assert.Contains("Mill Lane", await parent.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        // To read, and nothing to press.
        Assert.Equal(0, await parent.Page.Locator("main form, main a[href*='/diary/lessons/']").CountAsync());
        await parent.ExpectAccessibleAsync();
        await parent.ExpectNoSidewaysScrollAsync();

        // Forgotten: one letter to the one address, a link for each of the three.
        await using var forgetful = await Walk.StartAsync(chromium, url, screen);
        await forgetful.Page.GotoAsync("/people/forgotten");
        await forgetful.Page.Locator("input[name=Email]").FillAsync(Family);
        await forgetful.Page.Locator("main button").ClickAsync();
        await using (var scope = host.Services.CreateAsyncScope())
        {
            await scope.ServiceProvider.GetRequiredService<WriteResetLetters>().RunAsync(CancellationToken.None);
        }

        var letter = Assert.Single(await LettersAsync(host, "password-reset"));
        Assert.Equal(3, Links().Count(letter.Text));
        foreach (var name in new[] { "Idris Bell (idris.bell)", "Tamsin Oakley (tamsin.oakley)", "Rowan Bell (rowan.bell)" })
        {
            Assert.Contains(name, letter.Text, StringComparison.Ordinal);
        }

        // Idris takes the progress back; it is gone at her next press.
        await pupil.Page.GotoAsync($"/pupils/{day.Idris.Id}/beside?contact={rowan.Id}");
        await pupil.Page.GetByLabel("How far you have come").UncheckAsync();
        await pupil.PressAsync("Save changes");
        await parent.Page.GotoAsync("/diary/beside");
        Assert.Equal(0, await parent.Page.GetByRole(Microsoft.Playwright.AriaRole.Link, new() { Name = "Progress of Idris Bell" }).CountAsync());
        Assert.Equal(404, (await parent.Page.GotoAsync($"/syllabus/beside/{day.Idris.Id}"))!.Status);
        await parent.ExpectAccessibleAsync();

        // Removed beside both, she is signed out.
        foreach (var of in new[] { day.Idris.Id, tamsin.Id })
        {
            await office.Page.GotoAsync($"/pupils/{of}/beside");
            await office.PressAsync("Remove Rowan Bell");
        }

        await parent.Page.GotoAsync("/diary/beside");
        Assert.Contains("/people/sign-in", parent.Page.Url, StringComparison.Ordinal);
    }

    private static async Task SignInAsync(Walk walk, string name, string password)
    {
        await walk.Page.GotoAsync("/people/sign-in");
        await walk.Page.Locator("input[name='Input.Email']").FillAsync(name);
        await walk.Page.Locator("input[name='Input.Password']").FillAsync(password);
        await walk.Page.Locator("main form button").First.ClickAsync();
        await walk.Page.WaitForURLAsync(url => !url.Contains("/people/sign-in", StringComparison.Ordinal));
    }

    private static Task<List<Said>> LettersAsync(SchoolHost host, string kind) => host.SaidAsync(all => all.Where(m => m.ToAddress == Family && m.Kind == kind).OrderBy(m => m.Id));

    private static async Task<string> LinkAsync(SchoolHost host) => Invitation().Match((await LettersAsync(host, "invitation"))[^1].Text).Value;

    [GeneratedRegex(@"/people/accept\?\S+")]
    private static partial Regex Invitation();

    [GeneratedRegex(@"/people/reset\?\S+")]
    private static partial Regex Links();
}
