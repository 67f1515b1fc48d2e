using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Layout;

namespace School.Web.Modules.People.Account;

/// <summary>One's own browsers and programs (OWASP ASVS 5.0 V7.5.2).</summary>
[Needs(Permission.OwnSignIn)]
internal sealed class SessionsModel(
    Sessions sessions, ApiTokens tokens, EndSession end, EndOtherSessions endOthers, EndToken endToken, SchoolInfo school, Viewer viewer) : PageModel
{
    public IReadOnlyList<SessionLine> Browsers { get; private set; } = [];

    public IReadOnlyList<TokenLine> Programs { get; private set; } = [];

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var browsers = await sessions.Living(viewer.PersonId).OrderByDescending(s => s.LastUsedAt).ThenByDescending(s => s.Id).Take(PageRequest.Most).ToListAsync(cancel);
        Browsers = browsers.ConvertAll(s => new SessionLine(s.Id, s.Device, Moment(s.StartedAt), Moment(s.LastUsedAt), s.Id == viewer.SessionId));
        var programs = await tokens.Living(viewer.PersonId).OrderByDescending(t => t.Id).Take(PageRequest.Most).ToListAsync(cancel);
        Programs = programs.ConvertAll(t => new TokenLine(
            t.Id, t.Name.Length == 0 ? "without a name" : t.Name, t.Scope == TokenScope.Read ? "reads only" : "all that you may",
            Day(t.CreatedAt), Day(t.ExpiresAt), t.LastUsedAt is { } used ? Moment(used) : "never"));

        string Day(Instant at) => ScreenWords.DayAndYear(at.InZone(facts.Zone).Date);
        string Moment(Instant at) => $"{Day(at)}, {ScreenWords.Time(at.InZone(facts.Zone).TimeOfDay, facts.TwelveHourClock)}";
    }

    public async Task<IActionResult> OnPostEndAsync(Guid id, CancellationToken cancel) =>
        (await end.RunAsync(viewer, id, cancel)).Ok ? Done("That browser is signed out.") : NotFound();

    public async Task<IActionResult> OnPostEndOthersAsync(CancellationToken cancel)
    {
        await endOthers.RunAsync(viewer, cancel);
        return Done("Every other browser is signed out.");
    }

    public async Task<IActionResult> OnPostEndTokenAsync(Guid id, CancellationToken cancel) =>
        (await endToken.RunAsync(viewer, id, cancel)).Ok ? Done("That token is ended.") : NotFound();

    private RedirectToPageResult Done(string sentence)
    {
        TempData["Done"] = sentence;
        return RedirectToPage();
    }

    internal sealed record SessionLine(Guid Id, string Device, string Started, string Used, bool Here);

    internal sealed record TokenLine(Guid Id, string Name, string May, string Made, string Ends, string Used);
}
