using Deque.AxeCore.Commons;
using Microsoft.Playwright;

namespace School.Browser.Tests;

/// <summary>How somebody looks at the pages.</summary>
internal sealed record Screen(int Width = 390, int Height = 844, bool Dark = false, bool JavaScript = true)
{
    public static Screen Phone { get; } = new();

    public static Screen Desk { get; } = new(1280, 900);
}

/// <summary>
/// One person's walk through the pages. Whatever the walk is about, it fails on a violation of the content security policy, on an
/// error of a script, and on an answer that is an error of ours.
/// </summary>
internal sealed class Walk : IAsyncDisposable
{
    // Run in the page itself: the package's own way opens a second page each time, for frames, of which there are none here.
    private const string RunAxe = """
        async () => {
            const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
            const { violations } = await axe.run(document, { runOnly: { type: 'tag', values: tags }, resultTypes: ['violations'] });
            return violations.map(v => `${v.id}: ${v.help} at ${v.nodes.slice(0, 3).map(n => n.html).join(', ')}`);
        }
        """;

    private const string FurthestOut = """
        () => {
            const width = document.documentElement.clientWidth;
            const own = element => ({ element, right: element.getBoundingClientRect().right });
            return [...document.querySelectorAll('body *')].map(own).filter(one => one.right > width + 0.5 && ![...one.element.children].some(child => own(child).right >= one.right))
                .sort((a, b) => b.right - a.right).slice(0, 3)
                .map(one => `${Math.round(one.right - width)} px ${one.element.parentElement.cloneNode().outerHTML.slice(0, 90)} ${one.element.outerHTML.replace(/\s+/g, ' ').slice(0, 160)}`).join(' | ');
        }
        """;

    private static readonly string AxeScript = new BundledAxeScriptProvider().GetScript();

    private readonly List<string> _troubles = [];
    private readonly IBrowserContext _context;

    // axe and the measuring are scripts themselves: where scripts are off nothing can run them, and they would wait for ever.
    private readonly bool _scripts;

    private Walk(IBrowserContext context, IPage page, bool scripts)
    {
        _context = context;
        _scripts = scripts;
        Page = page;
    }

    public IPage Page { get; }

    public IReadOnlyList<string> Troubles => _troubles;

    public static async Task<Walk> StartAsync(Chromium chromium, string baseUrl, Screen screen)
    {
        var context = await chromium.Browser.NewContextAsync(new()
        {
            BaseURL = baseUrl,
            ViewportSize = new() { Width = screen.Width, Height = screen.Height },
            ColorScheme = screen.Dark ? ColorScheme.Dark : ColorScheme.Light,
            JavaScriptEnabled = screen.JavaScript,
            Locale = "en-GB",
            TimezoneId = "Europe/London",
            ReducedMotion = ReducedMotion.Reduce,
        });
        return Watched(context, await context.NewPageAsync(), screen.JavaScript);
    }

    /// <summary>On a phone whose text is twice as large.</summary>
    public static async Task<Walk> WithDoubledTextAsync(Chromium chromium, string baseUrl)
    {
        var context = await chromium.WithDoubledTextAsync(new()
        {
            BaseURL = baseUrl,
            ViewportSize = new() { Width = Screen.Phone.Width, Height = Screen.Phone.Height },
            Locale = "en-GB",
            TimezoneId = "Europe/London",
            ReducedMotion = ReducedMotion.Reduce,
        });
        return Watched(context, context.Pages[0], scripts: true);
    }

    private static Walk Watched(IBrowserContext context, IPage page, bool scripts)
    {
        context.SetDefaultTimeout(15_000);
        var walk = new Walk(context, page, scripts);
        walk.Page.Console += (_, message) =>
        {
            if (message.Type == "error" && message.Text.Contains("Content Security Policy", StringComparison.Ordinal))
            {
                walk._troubles.Add(message.Text);
            }
        };
        walk.Page.PageError += (_, error) => walk._troubles.Add(error);
        walk.Page.Response += (_, response) =>
        {
            if (response.Status >= 500)
            {
                walk._troubles.Add($"{response.Status} {response.Url}");
            }
        };
        return walk;
    }

    /// <summary>The page that is open, as it is on another screen.</summary>
    public async Task LookAgainAsync(Screen screen)
    {
        await Page.SetViewportSizeAsync(screen.Width, screen.Height);
        await Page.EmulateMediaAsync(new() { ColorScheme = screen.Dark ? ColorScheme.Dark : ColorScheme.Light });
    }

    /// <summary>Presses the button or link with these words.</summary>
    public Task PressAsync(string words) => Page.GetByRole(AriaRole.Button, new() { Name = words }).Or(Page.GetByRole(AriaRole.Link, new() { Name = words })).First.ClickAsync();

    /// <summary>Nothing that axe can find (WCAG 2.2 A and AA). The same page is looked at by a walk with scripts.</summary>
    public async Task ExpectAccessibleAsync()
    {
        if (!_scripts)
        {
            return;
        }

        if (!await Page.EvaluateAsync<bool>("'axe' in window"))
        {
            await Page.EvaluateAsync(AxeScript);
        }

        var violations = await Page.EvaluateAsync<string[]>(RunAxe);
        Assert.True(violations.Length == 0, $"{Page.Url}: " + string.Join("; ", violations));
    }

    /// <summary>A form that is posted without its antiforgery token is refused whatever is typed into it.</summary>
    public async Task ExpectFormsCarryTokensAsync()
    {
        var without = await Page.Locator("form[method=post i]:not(:has(input[name=__RequestVerificationToken]))").AllAsync();
        Assert.True(without.Count == 0, $"{Page.Url}: {without.Count} forms are posted without a token.");
    }

    public async Task ExpectNoSidewaysScrollAsync() => Assert.Null(await TooWideAsync());

    /// <summary>By how much the page is wider than the screen, and what reaches furthest out; null where it fits.</summary>
    public async Task<string?> TooWideAsync()
    {
        if (!_scripts)
        {
            return null;
        }

        var (over, what) = (await Page.EvaluateAsync<int>("document.documentElement.scrollWidth - document.documentElement.clientWidth"), "");
        if (over > 0)
        {
            what = await Page.EvaluateAsync<string>(FurthestOut);
        }

        return over <= 0 ? null : $"{new Uri(Page.Url).PathAndQuery} is {over} px wider than the screen: {what}";
    }

    public async ValueTask DisposeAsync()
    {
        await _context.DisposeAsync();
        Assert.Empty(_troubles);
    }
}
