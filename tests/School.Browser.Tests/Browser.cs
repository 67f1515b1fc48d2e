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

    private IPlaywright? _playwright;
    private IBrowser? _browser;

    internal IBrowser Browser => _browser ?? throw new InvalidOperationException("The browser has not started.");

    public async ValueTask InitializeAsync()
    {
        _playwright = await Playwright.CreateAsync();
        _browser = await _playwright.Chromium.LaunchAsync(new()
        {
            ExecutablePath = Environment.GetEnvironmentVariable("SCHOOL_CHROMIUM") ?? "/usr/bin/chromium",
            Args = Flags,
        });
    }

    public async ValueTask DisposeAsync()
    {
        if (_browser is not null)
        {
            await _browser.DisposeAsync();
        }

        _playwright?.Dispose();
    }
}
