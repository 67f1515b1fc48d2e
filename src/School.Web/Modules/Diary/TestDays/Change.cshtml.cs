using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>Changes what the diary keeps about a test that is ahead.</summary>
[Needs(Permission.BookLessons), ShowsWhatStands]
internal sealed class ChangeModel(TestDayReader reader, ChangeTestDay change, TestDayForms forms, Viewer viewer) : PageModel
{
    [BindProperty]
    public TestDayInput Input { get; set; } = new();

    public TestDayCard Card { get; private set; } = null!;

    public TestDayChoices Choices { get; private set; } = null!;

    public bool Staff => viewer.IsStaff;

    public bool Office => viewer.KeepsDiary;

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (await LoadAsync(id, cancel) is { } instead)
        {
            return instead;
        }

        Input = TestDayInput.Of(Card.Test, Choices.School);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid id, CancellationToken cancel)
    {
        if (await LoadAsync(id, cancel) is { } instead)
        {
            return instead;
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var read = Input.Read(Card.Test.PupilId, Choices.School, Choices.KnownCentres);
        var outcome = read.Ok ? await change.RunAsync(viewer, id, read.Value with { Result = null }, Input.Version, cancel) : read.Refusal;
        if (outcome.Ok)
        {
            TempData["Done"] = $"The test day is changed: {Choices.School.Moment(outcome.Value.StartsAt)}.";
            return LocalRedirect(TestDayWords.Address(id));
        }

        this.AddRefusal(TestDayInput.ToForm(outcome.Refusal), outcome.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        if (outcome.Refusal.Kind is RefusalKind.Stale)
        {
            ModelState.Remove("Input.Version");
            Input.Version = Card.Test.Version;
        }

        return Page();
    }

    private async Task<IActionResult?> LoadAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(id, viewer, cancel) is not { } card)
        {
            return NotFound();
        }

        (Card, Choices) = (card, await forms.ReadAsync(viewer, cancel));
        return card.Test.NotOpen("changed") is null ? null : LocalRedirect(TestDayWords.Address(id));
    }
}
