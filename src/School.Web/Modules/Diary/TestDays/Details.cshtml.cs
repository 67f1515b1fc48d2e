using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>One test day: dates, warnings, result, and for staff what was changed.</summary>
[Needs(Permission.SeeLessons)]
internal sealed class DetailsModel(
    TestDayReader reader, TakeOffTestDay takeOff, RecordTestResult record, TestDayDates dates, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    public TestDayCard Card { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public IReadOnlyList<TestDayChange> History { get; private set; } = [];

    public int RetestDays { get; private set; }

    public bool Staff => viewer.IsStaff;

    public Reader Reader => viewer.Reader;

    public bool HasBegun => Card.Test.StartsAt <= clock.GetCurrentInstant();

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel) => await LoadAsync(id, cancel) ? Page() : NotFound();

    public async Task<IActionResult> OnPostTakeOffAsync(Guid id, int version, bool byAgency, CancellationToken cancel)
    {
        var outcome = byAgency
            ? await record.RunAsync(viewer, id, new(Ending: TestEnding.CancelledByAgency), version, cancel)
            : await takeOff.RunAsync(viewer, id, version, cancel);
        if (outcome.Ok)
        {
            TempData["Done"] = "The test day is off the diary. The official test is as it was.";
            return LocalRedirect("/diary/test-days");
        }

        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        this.AddRefusal(outcome.Refusal);
        return Page();
    }

    private async Task<bool> LoadAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(id, viewer, cancel) is not { } card)
        {
            return false;
        }

        (Card, School, RetestDays) = (card, await school.GetAsync(cancel), (await dates.SettingsAsync(cancel)).RetestDays);
        History = viewer.Towards(card.Test.PupilId).IsStaff ? await reader.HistoryAsync(id, cancel) : [];
        return true;
    }
}
