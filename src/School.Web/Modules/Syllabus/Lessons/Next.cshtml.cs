using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using NodaTime.Text;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Offline;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>What comes next with a pupil once the lesson is recorded: the aim, the next lesson, and the same time next week by one tap.</summary>
[Needs(Permission.RecordLessons), KeptOffline]
[OfPupil("id", Sight.ByReason, Given = true)]
internal sealed class NextModel(RecordReader reader, SameTimeNextWeek nextWeek, IEnumerable<IPupilMoney> accounts, Viewer viewer) : PageModel
{
    public RecordSheet Sheet { get; private set; } = null!;

    public NextWeek Week { get; private set; } = null!;

    /// <summary>What is due for the lesson; null where no money is kept or it is not for the viewer to take.</summary>
    public KerbMoney? Money { get; private set; }

    /// <summary>Few enough to be read at the kerb.</summary>
    public IReadOnlyList<PlannedSkill> Suggested { get; private set; } = [];

    public string When => Sheet.School.When(Week.During);

    /// <summary>The start that the button names, as it is sent.</summary>
    public string StartText => InstantPattern.ExtendedIso.Format(Week.During.Start);

    public string DayAddress => Sheet.Lesson.DayAddress(Sheet.School.Zone, viewer);

    public string OtherTimes => $"/diary/lessons/new?pupilId={Sheet.Lesson.PupilId}&instructorId={Sheet.Lesson.InstructorId}&minutes={Sheet.Lesson.Minutes}";

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel) => await LoadAsync(id, cancel) ? Page() : NotFound();

    public async Task<IActionResult> OnPostAsync(Guid id, string? start, CancellationToken cancel)
    {
        var booked = await nextWeek.RunAsync(viewer, id, InstantPattern.ExtendedIso.Parse(start ?? "") is { Success: true, Value: var shown } ? shown : (Instant?)null, cancel);
        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        if (booked.Ok)
        {
            TempData["Done"] = $"Booked: {Sheet.Pupil.Name}, {When}.";
            return LocalRedirect(DayAddress);
        }

        this.AddRefusal(booked.Refusal);
        return Page();
    }

    private async Task<bool> LoadAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(id, viewer, cancel) is not { } sheet)
        {
            return false;
        }

        Sheet = sheet;
        Week = await nextWeek.LookAsync(sheet.Lesson, viewer, cancel);
        foreach (var account in accounts)
        {
            Money = await account.AtKerbAsync(sheet.Lesson.PupilId, id, viewer, cancel);
        }

        Suggested = [.. (await reader.AfterAsync(sheet.Lesson, cancel)).Suggested];
        return true;
    }
}
