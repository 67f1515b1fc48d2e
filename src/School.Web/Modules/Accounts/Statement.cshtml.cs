using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>A statement to read or print: of one's own account, as staff of a pupil's, or beside a pupil who allows it.</summary>
[Needs(Permission.ReadAccount)]
[OfPupil("id", Sight.ByReason)]
internal sealed class StatementModel(
    PupilBook pupils, BesideBook beside, BookShelf shelf, StatementReader statements, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty(SupportsGet = true)]
    public LocalDate? From { get; set; }

    [BindProperty(SupportsGet = true)]
    public LocalDate? To { get; set; }

    public string Name { get; private set; } = "";

    public SchoolFacts School { get; private set; } = null!;

    public Statement Statement { get; private set; } = null!;

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (!await AccountEndpoints.MaySeeAsync(Id, pupils, beside, viewer, cancel) || await shelf.FindAsync(cancel) is not { } book
            || !(await pupils.CardsAsync([Id], cancel)).TryGetValue(Id, out var card))
        {
            return NotFound();
        }

        (Name, School) = (card.Name, await school.GetAsync(cancel));
        var today = School.Today(clock);
        var to = LocalDate.Max(LocalDate.Min(To ?? today, today), book.OpenedOn);
        var from = LocalDate.Max(From ?? to.PlusMonths(-3), book.OpenedOn);
        if (from > to)
        {
            ModelState.AddModelError(nameof(From), $"Choose a day from {ScreenWords.DayAndYear(book.OpenedOn)}, on which the books were opened, to the last day.");
            from = to;
        }

        (From, To) = (from, to);
        Statement = await statements.ReadAsync(Id, from, to, cancel);
        return Page();
    }
}

internal static class StatementWords
{
    public static string Owed(long pence) => pence < 0 ? $"{ScreenWords.Money(-pence)} held" : ScreenWords.Money(pence);
}
