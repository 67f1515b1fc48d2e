using System.Net;
using NodaTime;
using School.Tests;
using School.Web.Modules.Records;
using School.Web.Tests.Host;

namespace School.Web.Tests.Records;

public sealed class AuditTests(TestPostgres postgres)
{
    [Fact]
    public async Task The_audit_is_told_newest_first_in_pages()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        for (var n = 1; n <= 5; n++)
        {
            await host.AddAsync(new AuditEntry { At = host.Clock.GetCurrentInstant() + Duration.FromMinutes(n), ByPersonId = Guid.Empty, ByName = "Rosalind", What = $"test.{n}" });
        }

        var seen = new List<string>();
        for (var cursor = ""; cursor is not null;)
        {
            var page = await (await office.GetAsync($"/api/v1/audit?limit=2&cursor={cursor}")).JsonAsync();
            seen.AddRange(page.GetProperty("items").EnumerateArray().Select(l => l.GetProperty("what").GetString()!));
            cursor = page.GetProperty("next").GetString();
        }

        Assert.Equal(["test.5", "test.4", "test.3", "test.2", "test.1"], seen.Where(w => w.StartsWith("test.", StringComparison.Ordinal)));
        Assert.Equal(["limit"], await (await office.GetAsync("/api/v1/audit?limit=1000000")).WrongFieldsAsync());
        Assert.Equal(["cursor"], await (await office.GetAsync("/api/v1/audit?cursor=AAAA")).WrongFieldsAsync());
    }

    [Fact]
    public async Task Only_the_office_reads_the_audit_and_nobody_rewrites_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var instructor = await host.ApiAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        Assert.Equal(HttpStatusCode.Forbidden, (await instructor.GetAsync("/api/v1/audit")).StatusCode);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Assert.Equal(HttpStatusCode.MethodNotAllowed, (await office.DeleteAsync("/api/v1/audit")).StatusCode);
    }
}
