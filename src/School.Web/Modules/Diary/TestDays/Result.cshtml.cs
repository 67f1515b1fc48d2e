using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>Records how a test ended, or puts the record right.</summary>
[Needs(Permission.BookLessons), ShowsWhatStands]
internal sealed class ResultModel(TestDayReader reader, RecordTestResult record, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty]
    public TestResultInput Input { get; set; } = new();

    public TestDayCard Card { get; private set; } = null!;

    public string When { get; private set; } = "";

    public bool TooEarly => Card.Test.StartsAt > clock.GetCurrentInstant();

    public bool Staff => viewer.IsStaff;

    public bool AskAgainstRule { get; private set; }

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        Input = TestResultInput.Of(Card.Test);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid id, CancellationToken cancel)
    {
        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        if (Input.Missing().ToRefusal() is { } missing)
        {
            this.AddRefusal(missing, nameof(Input));
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var outcome = await record.RunAsync(viewer, id, Input.ToRequest(), Input.Version, cancel);
        if (outcome.Ok)
        {
            TempData["Done"] = outcome.Value.State switch
            {
                TestDayState.Passed => "Result saved: passed.",
                TestDayState.TakenOff => "Saved. The test day is off the diary.",
                _ => "Result saved: not passed this time.",
            };
            return LocalRedirect(TestDayWords.Address(id));
        }

        AskAgainstRule = outcome.Refusal.Code == "result_against_rule";
        this.AddRefusal(outcome.Refusal, outcome.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        if (outcome.Refusal.Kind is RefusalKind.Stale)
        {
            ModelState.Remove("Input.Version");
            Input.Version = Card.Test.Version;
        }

        return Page();
    }

    private async Task<bool> LoadAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(id, viewer, cancel) is not { } card)
        {
            return false;
        }

        (Card, When) = (card, (await school.GetAsync(cancel)).Moment(card.Test.StartsAt));
        return true;
    }
}
