using System.Net;
using System.Reflection;
using System.Text.RegularExpressions;
using School.Tests;
using School.Web.Platform.Forms;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Forms;

/// <summary>A form that somebody else's change has overtaken says what is kept now beside what was typed.</summary>
public sealed partial class WhatStandsTests(TestPostgres postgres)
{
    [Fact]
    public async Task What_differs_is_told_beside_its_field_and_pressing_again_keeps_what_was_typed()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync("Tamsin Oakley");
        var page = $"/pupils/{pupil.Id}/change";
        using var here = await host.PagesAsAsync(await host.Data.OfficeAsync());
        using var there = await host.PagesAsAsync(await host.Data.OfficeAsync("Corin Marsh"));
        var mine = await FieldsAsync(here, page);
        var theirs = await FieldsAsync(there, page);
        Assert.Equal(HttpStatusCode.Redirect, (await there.PostFormAsync(page, With(theirs, ("Input.Phone", "01632 960888"), ("Input.Gearbox", "Manual")))).StatusCode);

        var refused = await here.PostFormAsync(page, With(mine, ("Input.Name", "Tamsin Oakley-Vale"), ("Input.Gearbox", "Automatic")));
        var shown = await refused.TextAsync();
        Assert.Contains("Somebody changed this after you opened it", shown, StringComparison.Ordinal);
        Assert.Contains($"href=\"{page}\">open the page as it is now", shown, StringComparison.Ordinal);
        Assert.Contains("value=\"Tamsin Oakley-Vale\"", shown, StringComparison.Ordinal);
        var kept = KeptNow().Matches(shown).Select(match => (match.Groups[1].Value, match.Groups[2].Value)).ToList();
        Assert.Contains(("Input_Name-kept", "Kept now: Tamsin Oakley"), kept);
        Assert.Contains(("Input_Phone-kept", "Kept now: 01632 960888"), kept);
        Assert.Contains(("Input_Gearbox-kept", "Kept now: Manual"), kept);
        Assert.DoesNotContain(kept, pair => pair.Item1 == "Input_Email-kept");
        Assert.Matches("aria-describedby=\"[^\"]*Input_Phone-kept\"[^>]*id=\"Input_Phone\"|id=\"Input_Phone\"[^>]*aria-describedby=\"[^\"]*Input_Phone-kept", shown);

        // The form is of the version that is shown now: pressed again, it goes through.
        Assert.Equal(HttpStatusCode.Redirect, (await here.PostFormAsync(page, With(Fields(shown), ("Input.Name", "Tamsin Oakley-Vale")))).StatusCode);
        Assert.Contains("Tamsin Oakley-Vale", await here.GetStringAsync($"/pupils/{pupil.Id}"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_form_that_is_as_it_should_be_says_nothing_of_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync("Tamsin Oakley");
        using var here = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = $"/pupils/{pupil.Id}/change";
        Assert.DoesNotContain("Kept now", await here.GetStringAsync(page), StringComparison.Ordinal);
        var wrong = await here.PostFormAsync(page, With(await FieldsAsync(here, page), ("Input.Email", "nobody")));
        Assert.DoesNotContain("Kept now", await wrong.TextAsync(), StringComparison.Ordinal);
        Assert.DoesNotContain("as it is now", await wrong.TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public void Every_page_that_says_so_can_be_opened_anew_and_carries_a_version()
    {
        var marked = typeof(ShowsWhatStandsAttribute).Assembly.GetTypes().Where(type => type.GetCustomAttribute<ShowsWhatStandsAttribute>() is not null).ToList();
        Assert.True(marked.Count > 15);
        Assert.All(marked, page =>
        {
            var opens = Assert.Single(page.GetMethods(), method => method.Name == "OnGetAsync");
            var sent = page.GetMethod("OnPostAsync")!.GetParameters().Select(parameter => parameter.Name);
            Assert.All(opens.GetParameters(), parameter => Assert.Contains(parameter.Name, sent));
            Assert.True((page.GetProperty("Version") ?? page.GetProperty("Input")!.PropertyType.GetProperty("Version")) is not null, page.FullName);
        });
    }

    private static async Task<(string, string)[]> FieldsAsync(HttpClient browser, string page) => Fields(await (await browser.GetAsync(page)).TextAsync());

    /// <summary>What a browser would send of the first form.</summary>
    private static (string, string)[] Fields(string html)
    {
        var form = html[html.IndexOf("<form method=\"post\"", html.IndexOf("<main", StringComparison.Ordinal), StringComparison.Ordinal)..];
        form = form[..form.IndexOf("</form>", StringComparison.Ordinal)];
        var inputs = Input().Matches(form).Select(match => match.Value)
            .Where(tag => !tag.Contains("__Request", StringComparison.Ordinal) && (!Unticked().IsMatch(tag) || tag.Contains("checked", StringComparison.Ordinal)))
            .Select(tag => (Name().Match(tag).Groups[1].Value, Value().Match(tag).Groups[1].Value));
        var chosen = Select().Matches(form).Select(match => (match.Groups[1].Value, Chosen().Match(match.Value) is { Success: true } option ? option.Groups[1].Value : ""));
        var texts = Area().Matches(form).Select(match => (match.Groups[1].Value, match.Groups[2].Value.Trim()));
        return [.. inputs, .. chosen, .. texts];
    }

    private static (string, string)[] With((string Name, string)[] fields, params (string Name, string)[] other) =>
        [.. fields.Where(field => !other.Any(o => o.Name == field.Name)), .. other];

    [GeneratedRegex("<p class=\"kept-now\" id=\"([^\"]+)\">([^<]+)</p>")]
    private static partial Regex KeptNow();

    [GeneratedRegex("<input[^>]*name=[^>]*>")]
    private static partial Regex Input();

    [GeneratedRegex("type=\"(?:checkbox|radio)\"")]
    private static partial Regex Unticked();

    [GeneratedRegex("name=\"([^\"]+)\"")]
    private static partial Regex Name();

    [GeneratedRegex("value=\"([^\"]*)\"")]
    private static partial Regex Value();

    [GeneratedRegex("<select[^>]*name=\"([^\"]+)\".*?</select>", RegexOptions.Singleline)]
    private static partial Regex Select();

    [GeneratedRegex("<option(?=[^>]*selected)[^>]*value=\"([^\"]*)\"")]
    private static partial Regex Chosen();

    [GeneratedRegex("<textarea[^>]*name=\"([^\"]+)\"[^>]*>(.*?)</textarea>", RegexOptions.Singleline)]
    private static partial Regex Area();
}
