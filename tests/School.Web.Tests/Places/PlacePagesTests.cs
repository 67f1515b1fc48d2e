using System.Net;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Places;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Web.Tests.Places;

/// <summary>Places and areas on pages: added, changed and removed by who may, and told what is wrong beside the field.</summary>
public sealed class PlacePagesTests(TestPostgres postgres)
{
    [Fact]
    public async Task The_office_changes_a_place_of_the_school_and_an_overtaken_form_changes_nothing()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var row = new SchoolPlace { Kind = PlaceKind.Station, At = TestData.PlaceAt(label: "Larkfield halt") };
        await host.AddAsync(row);

        var page = $"/places?change={row.Id}";
        Assert.Equal("Larkfield halt", await ValueAsync(office, page, "Input.At.Label"));
        using var kept = await SendAsync("Larkfield station");
        Assert.Equal(HttpStatusCode.Redirect, kept.StatusCode);

        using var late = await SendAsync("Something else");

        Assert.Contains("changed", await late.TextAsync(), StringComparison.Ordinal);
        var place = await host.WithDbAsync(db => db.Set<SchoolPlace>().AsNoTracking().SingleAsync(p => p.Id == row.Id));
        Assert.Equal(("Larkfield station", row.At.Latitude, row.At.Longitude), (place.At.Label, place.At.Latitude, place.At.Longitude));

        Task<HttpResponseMessage> SendAsync(string label) => office.PostFormAsync(
            "/places", "/places", ("Change", $"{row.Id}"), ("Version", $"{row.Version}"), ("Input.Kind", "Station"), ("Input.At.Label", label), ("Input.At.Position", "52.4, -1.2"));
    }

    [Fact]
    public async Task A_changed_area_keeps_its_districts_apart_from_those_of_others()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        foreach (var (name, districts) in new[] { ("North", "LK1, LK2"), ("South", "LK3") })
        {
            using var added = await office.PostFormAsync("/places/areas", ("Input.Name", name), ("Input.Districts", districts));
            Assert.Equal(HttpStatusCode.Redirect, added.StatusCode);
        }

        var south = await host.WithDbAsync(db => db.Set<Area>().AsNoTracking().SingleAsync(a => a.Name == "South"));
        Assert.Equal("LK3", await ValueAsync(office, $"/places/areas?change={south.Id}", "Input.Districts"));
        using var refused = await SendAsync("LK3, LK2");
        Assert.Contains("LK2 lies in the area North", await refused.TextAsync(), StringComparison.Ordinal);

        using var kept = await SendAsync("LK3, LK4");
        Assert.Equal(HttpStatusCode.Redirect, kept.StatusCode);
        Assert.Equal(["LK3", "LK4"], await host.WithDbAsync(db => db.Set<AreaDistrict>().Where(d => d.AreaId == south.Id).Select(d => d.District).Order().ToListAsync()));

        Task<HttpResponseMessage> SendAsync(string districts) => office.PostFormAsync(
            "/places/areas", "/places/areas", ("Change", $"{south.Id}"), ("Version", $"{south.Version}"), ("Input.Name", "South"), ("Input.Districts", districts));
    }

    [Fact]
    public async Task A_pupil_names_changes_and_removes_places_and_nobody_elses_are_found()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var theirs = await host.Data.InstructorAsync();
        var (pupil, other) = (await host.Data.PupilAsync(instructor: theirs.Id), await host.Data.PupilAsync());
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var path = $"/pupils/{pupil.Id}/places";
        using var missing = await browser.PostFormAsync(path);
        var said = await missing.TextAsync();
        Assert.Contains("Enter a short name for the place", said, StringComparison.Ordinal);
        Assert.Contains("Enter the postcode, or latitude and longitude", said, StringComparison.Ordinal);

        using var added = await browser.PostFormAsync(path, ("Input.Label", "Work"), ("Input.Position", "52.41, -1.21"));
        Assert.Equal(HttpStatusCode.Redirect, added.StatusCode);
        var row = await host.WithDbAsync(db => db.Set<PupilPlace>().AsNoTracking().SingleAsync(p => p.PupilId == pupil.Id));

        Assert.Equal("52.41, -1.21", await ValueAsync(browser, $"{path}?change={row.Id}", "Input.Position"));
        using var changed = await browser.PostFormAsync(
            path, path, ("Change", $"{row.Id}"), ("Version", $"{row.Version}"), ("Input.Label", "Old work"), ("Input.Position", "52.41, -1.21"));
        Assert.Equal(HttpStatusCode.Redirect, changed.StatusCode);
        Assert.Contains("Old work", await browser.GetStringAsync(path), StringComparison.Ordinal);

        using var foreign = await browser.GetAsync($"/pupils/{other.Id}/places");
        Assert.Equal(HttpStatusCode.NotFound, foreign.StatusCode);
        using var instructor = await host.PagesAsAsync(await host.Data.PersonAsync(theirs));
        Assert.DoesNotContain("Add a place", await instructor.GetStringAsync(path), StringComparison.Ordinal);

        using var removed = await browser.PostFormAsync(path, $"{path}?handler=Remove", ("place", $"{row.Id}"));
        Assert.Equal(HttpStatusCode.Redirect, removed.StatusCode);
        Assert.False(await host.WithDbAsync(db => db.Set<PupilPlace>().AnyAsync(p => p.PupilId == pupil.Id)));
    }

    private static async Task<string> ValueAsync(HttpClient browser, string page, string field)
    {
        var input = Regex.Match(await browser.GetStringAsync(page), $"<input[^>]* name=\"{Regex.Escape(field)}\"[^>]*>").Value;
        return Regex.Match(input, " value=\"([^\"]*)\"").Groups[1].Value;
    }
}
