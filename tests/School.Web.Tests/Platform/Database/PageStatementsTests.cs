using System.Globalization;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Database;

/// <summary>
/// How many statements each page and list sends to the database, once it has been asked before. The numbers stand in
/// page-statements.txt, so that a change which costs or saves one says so in its own lines.
/// </summary>
public sealed class PageStatementsTests(TestPostgres postgres)
{
    private const string File = "tests/School.Web.Tests/page-statements.txt";

    [Fact]
    public async Task Each_page_sends_as_many_statements_as_the_list_says()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var statements = new Statements(host);
        var lines = new List<string>();
        await WalkedPages.WalkAsync(host, _ => true, async (name, client, url) =>
        {
            (await client.GetAsync(url)).Dispose();
            statements.Take();
            using var answer = await client.GetAsync(url);
            var sent = statements.Take();
            if ((int)answer.StatusCode < 300)
            {
                lines.Add(string.Create(CultureInfo.InvariantCulture, $"{name} {sent.Count}"));
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
