using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Web.Tests.Office;

/// <summary>The page of papers: what is wrong or near stands open, the rest is folded by month. It is Monday 2 March 2026.</summary>
public sealed class PapersPageTests(TestPostgres postgres)
{
    [Fact]
    public async Task What_is_wrong_or_near_stands_before_the_months_of_the_rest_which_are_folded_and_whole()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        foreach (var (name, passed) in new[] { ("Ended Early", "2024-02-01"), ("Soon Over", "2024-03-20"), ("May Ash", "2025-06-01"), ("May Birch", "2025-05-20") })
        {
            var pupil = await host.Data.PupilAsync(name);
            var on = NodaTime.Text.LocalDatePattern.Iso.Parse(passed).Value;
            await host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == pupil.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.TheoryPassedOn, on)));
        }

        var page = await (await pages.GetAsync("/papers?kind=theory")).TextAsync();
        var (open, folded) = (page.Split("<details class=\"paper-fold\"")[0], page.Split("<details class=\"paper-fold\"")[1..]);
        Assert.Contains("Ended Early", open, StringComparison.Ordinal);
        Assert.Contains("Soon Over", open, StringComparison.Ordinal);
        Assert.DoesNotContain("May Ash", open, StringComparison.Ordinal);
        var month = Assert.Single(folded);
        Assert.Contains("Ends in May 2027", month, StringComparison.Ordinal);
        Assert.Contains("2 papers", month, StringComparison.Ordinal);
        Assert.Contains("May Ash", month, StringComparison.Ordinal);
        Assert.Contains("May Birch", month, StringComparison.Ordinal);
        Assert.DoesNotContain(" open", month.Split('>')[0], StringComparison.Ordinal);
    }
}
