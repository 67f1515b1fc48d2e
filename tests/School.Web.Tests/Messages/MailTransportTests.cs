using Hangfire;
using Microsoft.AspNetCore.Hosting;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using MimeKit;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Tests.Host;

namespace School.Web.Tests.Messages;

public sealed class MailTransportTests(TestPostgres postgres)
{
    [Fact]
    public async Task Without_a_mail_server_each_message_becomes_one_file_that_only_the_service_reads()
    {
        using var folder = new TemporaryFolder();
        await using var host = await SchoolHost.StartAsync(postgres);
        var message = Post.Reminder(host, name: "Zoë 🚗");
        await host.AddAsync(message);
        var mail = new FolderMail(Path.Combine(folder.Path, "mail"));
        await Assert.ThrowsAsync<Dying.DiedException>(() => Post.RunAsync(host, new(), new Dying(mail, before: false, after: true)));
        host.Clock.AdvanceMinutes(10);
        await Post.RunAsync(host, new(), mail);

        var file = Assert.Single(Directory.GetFiles(Path.Combine(folder.Path, "mail")));
        Assert.EndsWith(".eml", file, StringComparison.Ordinal);
        Assert.Equal("Zoë 🚗", (await MimeMessage.LoadAsync(file)).To.Mailboxes.Single().Name);
        if (!OperatingSystem.IsWindows())
        {
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute, File.GetUnixFileMode(Path.GetDirectoryName(file)!));
        }
    }

    [Fact]
    public async Task A_folder_that_cannot_be_written_is_an_outage()
    {
        using var folder = new TemporaryFolder();
        var blocked = Path.Combine(folder.Path, "mail");
        await File.WriteAllTextAsync(blocked, "a file where the folder should be");
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.AddAsync(Post.Reminder(host));

        await Post.RunAsync(host, new(), new FolderMail(blocked));

        Assert.Equal(1, await Post.CountAsync(host, MessageState.Waiting));
    }

    [Fact]
    public async Task The_job_server_sends_what_is_due()
    {
        using var folder = new TemporaryFolder();
        await using var host = await SchoolHost.StartAsync(postgres);
        var message = Post.Reminder(host);
        await host.AddAsync(message);
        await using var running = host.WithWebHostBuilder(builder => builder.UseSetting("School:RunJobs", "true").UseSetting("Mail:Folder", folder.Path));
        running.Services.GetRequiredService<IRecurringJobManager>().Trigger(SendDueMessages.Job);

        var limit = TimeSpan.FromSeconds(60);
        for (var waited = TimeSpan.Zero; (await Post.ReadAsync(host, message.Id)).State != MessageState.Sent; waited += TimeSpan.FromMilliseconds(100))
        {
            Assert.True(waited < limit, "The job did not run.");
            await Task.Delay(100);
        }

        Assert.Single(Directory.GetFiles(folder.Path, "*.eml"));
    }

    [Theory]
    [InlineData("starttls", 587)]
    [InlineData("tls", 465)]
    [InlineData("none", 25)]
    public void The_usual_port_follows_from_the_security(string security, int port) =>
        Assert.Equal(port, Read(("Mail:Host", "post.larkfield.example"), ("Mail:From", "post@larkfield.example"), ("Mail:Security", security)).PortInUse);

    [Fact]
    public void A_mistake_in_the_settings_is_told_at_the_start()
    {
        Assert.Contains("Mail:From", Refused(("Mail:Host", "post.larkfield.example")), StringComparison.Ordinal);
        Assert.Contains("Mail:From", Refused(("Mail:From", "School <post@larkfield.example>")), StringComparison.Ordinal);
        Assert.Contains("in clear", Refused(
            ("Mail:Host", "post.larkfield.example"), ("Mail:From", "post@larkfield.example"), ("Mail:Security", "none"), ("Mail:User", "school")), StringComparison.Ordinal);
        Assert.Contains("Mail:TimeoutSeconds", Refused(("Mail:TimeoutSeconds", "0")), StringComparison.Ordinal);
    }

    private static string Refused(params (string Key, string Value)[] settings) => Assert.Throws<InvalidOperationException>(() => Read(settings)).Message;

    private static MailSettings Read(params (string Key, string Value)[] settings) =>
        MailSettings.Read(new ConfigurationBuilder().AddInMemoryCollection(settings.ToDictionary(s => s.Key, s => (string?)s.Value)).Build());
}

internal sealed class TemporaryFolder : IDisposable
{
    public string Path { get; } = Directory.CreateTempSubdirectory("school-mail-").FullName;

    public void Dispose() => Directory.Delete(Path, recursive: true);
}
