using System.Collections.Concurrent;
using System.Net;
using System.Net.Http.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.People.SignIn;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

/// <summary>
/// What is written down about signing in and about what was refused (OWASP ASVS 5.0: V16.3.1 every sign-in, wrong ones too,
/// with the way it was done; V16.3.2 refused permissions; V16.3.3 attempts to get round a limit; V16.2.5 nothing sensitive).
/// </summary>
public sealed class SecurityEventsTests(TestPostgres postgres)
{
    private const string Account = "/people/account";
    private const string Step = "/people/account/second-step";
    private const string Chosen = "four winds over larkfield";

    [Fact]
    public async Task The_audit_tells_sign_ins_failures_locks_passwords_second_steps_and_refused_permissions()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var recorder = Recorder.On(host);
        var office = await host.Data.OfficeAsync();
        using var browser = host.Browser();
        await browser.SignInAsync(office, "not the password of anybody");
        await browser.SignInAsync(office);
        await browser.PostFormAsync(Account, $"{Account}?handler=Password", ("Present", "not it at all"), ("Password", Chosen));
        await browser.PostFormAsync(Account, $"{Account}?handler=Password", ("Present", SchoolHost.Password), ("Password", Chosen));
        await browser.PostFormAsync(Step, $"{Step}?handler=Start", ("Present", Chosen));
        var secret = Totp.FromBase32(AccountTests.KeyIn(await (await browser.GetAsync(Step)).TextAsync()));
        await browser.PostFormAsync(Step, $"{Step}?handler=Confirm", ("Code", Totp.Code(secret, Totp.StepOf(host.Clock.GetCurrentInstant()))));
        await browser.PostFormAsync(Step, $"{Step}?handler=Codes", ("Present", Chosen));
        await browser.PostFormAsync(Step, $"{Step}?handler=Off", ("Present", Chosen));
        await browser.PostFormAsync("/people/sign-out");

        using var attacker = host.Anonymous().From("203.0.113.7");
        for (var n = 0; n < 13; n++)
        {
            await attacker.PostAsJsonAsync("/api/v1/tokens", new { email = office.Email, password = "wrong wrong wrong" });
        }

        var pupil = await host.Data.PersonAsync(await host.Data.PupilAsync());
        using var asPupil = await host.PagesAsAsync(pupil);
        await asPupil.GetAsync("/people/office?note=secret-in-the-address");
        using var program = await host.ApiAsAsync(pupil);
        Assert.Equal(HttpStatusCode.Forbidden, (await program.GetAsync("/api/v1/audit")).StatusCode);
        using var forgetful = host.Browser();
        await forgetful.PostFormAsync("/people/forgotten", ("Email", pupil.Email!));
        await Mails.WriteResetLettersAsync(host);
        await forgetful.PostFormAsync(await Mails.LinkAsync(host, pupil.Email!, "password-reset"), ("Password", Chosen));

        await NoteAsync(host);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync("Linnet Brook"));
        var lines = (await (await api.GetAsync("/api/v1/audit?limit=200")).JsonAsync()).GetProperty("items").EnumerateArray()
            .Select(line => (What: line.GetProperty("what").GetString()!, About: line.GetProperty("aboutId").GetGuid(), Words: line.GetProperty("words").GetString()!)).ToList();
        foreach (var (what, about) in new[]
        {
            ("sign-in.wrong", office.Id), ("sign-in.open", office.Id), ("sign-in.end", office.Id), ("sign-in.locked", office.Id), ("password.change", office.Id),
            ("second-step.on", office.Id), ("second-step.codes", office.Id), ("second-step.off", office.Id), ("permission.refused", pupil.Id),
            ("password.ask", pupil.Id), ("password.choose", pupil.Id),
        })
        {
            Assert.Contains((what, about), lines.Select(line => (line.What, line.About)));
        }

        // A flood of wrong tries makes no flood of lines: ten, then one that says the limit was met.
        Assert.InRange(lines.Count(line => line.What == "sign-in.wrong"), 10, 12);
        Assert.Single(lines, line => line.What == "sign-in.locked");
        Assert.All(lines, line => Assert.DoesNotContain(pupil.Name, line.Words, StringComparison.Ordinal));

        // The page looks the name up: who was tried at cannot be seen from who tried.
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync("Fern Quill"));
        var shown = await (await pages.GetAsync("/records/audit")).TextAsync();
        Assert.Contains($"the sign-in of {office.Name}", shown, StringComparison.Ordinal);
        Assert.Contains($"the sign-in of {pupil.Name}", shown, StringComparison.Ordinal);

        var log = recorder.Lines.ToList();
        foreach (var word in new[] { "wrong", "locked", "signed in", "signed out", "refused" })
        {
            Assert.Contains(log, line => line.Contains(word, StringComparison.OrdinalIgnoreCase));
        }

        // Ids only: no name, no address, no password, nothing that was typed.
        foreach (var secretWord in new[] { office.Email!, pupil.Email!, office.Name, pupil.Name, Chosen, SchoolHost.Password, "203.0.113", "secret-in-the-address" })
        {
            Assert.DoesNotContain(log, line => line.Contains(secretWord, StringComparison.OrdinalIgnoreCase));
        }
    }

    [Fact]
    public async Task A_try_at_a_name_that_nobody_has_is_logged_without_the_name_and_makes_no_audit_line()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var recorder = Recorder.On(host);
        using var api = host.Anonymous();
        await api.PostAsJsonAsync("/api/v1/tokens", new { email = "my secret password@larkfield.example", password = "x" });
        Assert.Contains(recorder.Lines, line => line.Contains("nobody", StringComparison.Ordinal));
        Assert.DoesNotContain(recorder.Lines, line => line.Contains("secret", StringComparison.Ordinal));
        await NoteAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var lines = (await (await office.GetAsync("/api/v1/audit?limit=200")).JsonAsync()).GetProperty("items").EnumerateArray();
        Assert.DoesNotContain(lines, line => line.GetProperty("what").GetString() == "sign-in.wrong");
    }

    private static async Task NoteAsync(SchoolHost host)
    {
        await using var scope = host.Services.CreateAsyncScope();
        await scope.ServiceProvider.GetRequiredService<NoteWrongTries>().RunAsync(CancellationToken.None);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<WrongTry>().CountAsync()));
    }

    /// <summary>Keeps the log lines of the host's own code.</summary>
    private sealed class Recorder : ILoggerProvider, ILogger
    {
        public ConcurrentQueue<string> Lines { get; } = new();

        public static Recorder On(SchoolHost host)
        {
            var recorder = new Recorder();
            host.Services.GetRequiredService<ILoggerFactory>().AddProvider(recorder);
            return recorder;
        }

        public ILogger CreateLogger(string categoryName) => this;

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter) =>
            Lines.Enqueue(formatter(state, exception));

        public void Dispose()
        {
        }
    }
}
