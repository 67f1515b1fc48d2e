using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Tests.Host;
using School.Web.Tests.Messages;

namespace School.Web.Tests.Office;

/// <summary>What is wrong with how the service runs, told to the office.</summary>
public sealed class OperationAttentionTests(TestPostgres postgres)
{
    [Fact]
    public async Task Keys_that_no_file_guards_are_told_with_what_to_do_until_there_is_one()
    {
        await using var host = await SchoolHost.StartAsync(postgres, settings: ("School:KeyFile", ""));
        await host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"DELETE FROM platform.sealing_keys; DELETE FROM platform.data_protection_keys"));
        var person = await host.Data.OfficeAsync();
        await using var before = host.SecondNode();
        Assert.Equal(["keys_readable"], await KindsAsync(before, person));
        using (var office = await before.PagesAsAsync(person))
        {
            Assert.Contains("href=\"/office/keys\"", await office.GetStringAsync("/diary/attention"), StringComparison.Ordinal);
            Assert.Contains("openssl rand -hex 32", await office.GetStringAsync("/office/keys"), StringComparison.Ordinal);
        }

        await using var after = host.SecondNode(("School:KeyFile", TestKeyFile.Path));
        Assert.Empty(await KindsAsync(after, person));
        using var again = await after.PagesAsAsync(person);
        Assert.Contains("There is nothing to do", await again.GetStringAsync("/office/keys"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Messages_that_should_have_gone_are_one_line_until_they_go()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.AddAsync(Post.Reminder(host, 1), Post.Reminder(host, 2));
        var person = await host.Data.OfficeAsync();
        host.Clock.AdvanceMinutes(4);
        Assert.Empty(await KindsAsync(host, person));
        host.Clock.AdvanceMinutes(1);
        Assert.Equal(["late_messages"], await KindsAsync(host, person));
        using var office = await host.PagesAsAsync(person);
        Assert.Contains("2 messages should have gone and wait, since Monday 2 March, 08:00.", await (await office.GetAsync("/diary/attention")).TextAsync(), StringComparison.Ordinal);

        await using var server = new SmtpListener();
        await Post.RunAsync(host, Post.To(server));
        Assert.Empty(await KindsAsync(host, person));
    }

    private static async Task<string?[]> KindsAsync(SchoolHost host, Person person)
    {
        using var api = await host.ApiAsAsync(person);
        var answer = await (await api.GetAsync("/api/v1/attention")).JsonAsync();
        return [.. answer.GetProperty("items").EnumerateArray().Select(item => item.GetProperty("kind").GetString())];
    }
}
