using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>A pupil's account for the staff.</summary>
[Needs(Permission.TakeMoney)]
[OfPupil("id", Sight.ByReason)]
internal sealed class DetailsModel(PupilBook pupils, AccountReader reader, TermsBook terms, AcceptTerms accept, SchoolInfo school, Viewer viewer) : PageModel
{
    private SchoolFacts facts = null!;

    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty(SupportsGet = true)]
    public int Sheet { get; set; } = 1;

    public string Name { get; private set; } = "";

    public AccountView? View { get; private set; }

    public Terms? Terms { get; private set; }

    public TermsAccepted? Accepted { get; private set; }

    public bool Keeps => viewer.May(Permission.KeepBooks);

    public string DayOf(Instant at) => ScreenWords.DayAndYear(at.InZone(facts.Zone).Date);

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(cancel);

    public async Task<IActionResult> OnPostAcceptAsync(int number, CancellationToken cancel)
    {
        var accepted = await accept.RunAsync(viewer, Id, number, cancel);
        if (!accepted.Ok)
        {
            this.AddRefusal(accepted.Refusal);
            return await ShowAsync(cancel);
        }

        TempData["Done"] = "That they accepted the terms is noted.";
        return Redirect($"/accounts/{Id}");
    }

    private async Task<IActionResult> ShowAsync(CancellationToken cancel)
    {
        if (!(await pupils.CardsAsync([Id], cancel)).TryGetValue(Id, out var card))
        {
            return NotFound();
        }

        Name = card.Name;
        facts = await school.GetAsync(cancel);
        Sheet = Math.Clamp(Sheet, 1, 10_000);
        if (await reader.FindAsync(Id, Sheet, cancel) is { } account)
        {
            View = new(Id, account, facts, Sheet, $"/accounts/{Id}", viewer);
            (Terms, Accepted) = await terms.OfPupilAsync(Id, cancel);
        }

        return Page();
    }
}
