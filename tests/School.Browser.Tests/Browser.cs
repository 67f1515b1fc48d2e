using Microsoft.Playwright;

[assembly: AssemblyFixture(typeof(School.Browser.Tests.Chromium))]

namespace School.Browser.Tests;

/// <summary>One real Chromium for the run; each test takes a context of its own.</summary>
public sealed class Chromium : IAsyncLifetime
{
    private static readonly string[] Flags =
    [
        "--no-sandbox", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-quic", "--no-first-run",
    ];

    private static readonly string Executable = Environment.GetEnvironmentVariable("SCHOOL_CHROMIUM") ?? "/usr/bin/chromium";

    private readonly List<string> _profiles = [];

    private IPlaywright? _playwright;
    private IBrowser? _browser;

    internal IBrowser Browser => _browser ?? throw new InvalidOperationException("The browser has not started.");

    public async ValueTask InitializeAsync()
    {
        _playwright = await Playwright.CreateAsync();
        _browser = await _playwright.Chromium.LaunchAsync(new()
        {
            ExecutablePath = Executable,
            Args = Flags,
        });
    }

    /// <summary>A browser of its own whose reader has set text twice as large as it comes, in its settings: rem and the queries of a style sheet follow that (WCAG 2.2, 1.4.4).</summary>
    internal async Task<IBrowserContext> WithDoubledTextAsync(BrowserTypeLaunchPersistentContextOptions options)
    {
        var profile = Directory.CreateTempSubdirectory("school-doubled-text-").FullName;
        _profiles.Add(profile);
        Directory.CreateDirectory(Path.Combine(profile, "Default"));
        await File.WriteAllTextAsync(Path.Combine(profile, "Default", "Preferences"), """{"webkit":{"webprefs":{"default_font_size":32,"default_fixed_font_size":26}}}""");
        options.ExecutablePath = Executable;
        options.Args = Flags;
        return await _playwright!.Chromium.LaunchPersistentContextAsync(profile, options);
    }

    public async ValueTask DisposeAsync()
    {
        _profiles.ForEach(profile => Directory.Delete(profile, recursive: true));
        if (_browser is not null)
        {
            await _browser.DisposeAsync();
        }

        _playwright?.Dispose();
    }
}
