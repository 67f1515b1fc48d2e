using System.Globalization;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Database;

/// <summary>
/// How many statements each page and list sends to the database, once it has been asked before, and in how many ways there and back
/// that it waits for. The numbers stand in page-statements.txt, so that a change which costs or saves one says so in its own lines.
/// </summary>
public sealed class PageStatementsTests(TestPostgres postgres)
{
    private const string File = "tests/School.Web.Tests/page-statements.txt";

    [Fact]
    public async Task Each_page_sends_as_many_statements_as_the_list_says()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var costs = await DatabaseCosts.OnAsync(host);
        var lines = new List<string>();
        await WalkedPages.WalkAsync(host, _ => true, async (name, client, url) =>
        {
            (await client.GetAsync(url)).Dispose();
            costs.Take();
            using var answer = await client.GetAsync(url);
            var (ways, statements) = costs.Take();
            if ((int)answer.StatusCode < 300)
            {
                lines.Add(string.Create(CultureInfo.InvariantCulture, $"{name} {statements.Count} in {ways.Count}"));
            }
        });

        var known = await System.IO.File.ReadAllLinesAsync(Path.Combine(Sources.Root, File), TestContext.Current.CancellationToken);
        Assert.True(
            known.SequenceEqual(lines),
            $"""
            {File} does not say what is sent. Where that is meant, let it say so. It says and should say:
            {string.Join('\n', known.Except(lines).Select(line => "- " + line).Concat(lines.Except(known).Select(line => "+ " + line)))}
            """);
    }
}
