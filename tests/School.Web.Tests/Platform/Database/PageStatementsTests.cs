using System.Globalization;
using School.Tests;
using School.Web.Platform.Access;
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
        var monday = await LarkfieldMonday.SeedAsync(host, others: 2);
        var routes = (await SweptRoute.AllAsync(host.Services)).Where(route => route.Method == "GET" && !route.HasId && route.Permission is not null).ToList();
        var lines = new List<string>();
        foreach (var role in Enum.GetValues<Role>())
        {
            var person = role switch
            {
                Role.Pupil => await host.Data.PersonAsync(monday.Idris),
                Role.Instructor => await host.Data.PersonAsync(monday.Marigold),
                Role.Office => await host.Data.OfficeAsync(),
            };
            using var pages = await host.PagesAsAsync(person);
            using var api = await host.ApiAsAsync(person);
            using var statements = new Statements(host);
            foreach (var route in routes.Where(route => route.Allows(role)).OrderBy(route => route.Template, StringComparer.Ordinal))
            {
                var client = route.IsPage ? pages : api;
                (await client.GetAsync(route.Url())).Dispose();
                statements.Take();
                using var answer = await client.GetAsync(route.Url());
                var sent = statements.Take();
                if ((int)answer.StatusCode < 300)
                {
                    lines.Add(string.Create(CultureInfo.InvariantCulture, $"{role} {route.Template} {sent.Count}"));
                }
            }
        }

        var known = await System.IO.File.ReadAllLinesAsync(Path.Combine(Sources.Root, File), TestContext.Current.CancellationToken);
        Assert.True(
            known.SequenceEqual(lines),
            $"""
            {File} does not say what is sent. Where that is meant, let it say so. It says and should say:
            {string.Join('\n', known.Except(lines).Select(line => "- " + line).Concat(lines.Except(known).Select(line => "+ " + line)))}
            """);
    }
}
