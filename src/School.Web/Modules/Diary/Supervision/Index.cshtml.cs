using System.Globalization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Supervision;

/// <summary>A trainee's daily record under option 1, to keep, to look at and to print; the office sees everybody's.</summary>
[Needs(Permission.ChangeHours)]
internal sealed class IndexModel(
    SupervisionBook book, KeepSupervision keep, RemoveSupervision remove, InstructorBook instructors, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid? Id { get; set; }

    [BindProperty]
    public DayForm Input { get; set; } = new();

    public InstructorCard? Trainee { get; private set; }

    public SupervisionRecord? Record { get; private set; }

    /// <summary>Trainees under option 1, for the office to choose among.</summary>
    public IReadOnlyList<InstructorCard> Choices { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Approved { get; private set; } = [];

    public SchoolFacts School { get; private set; } = null!;

    public string Percent => string.Create(CultureInfo.InvariantCulture, $"{Math.Floor(Record!.Share * 1000) / 10:0.0} %");

    public string Ends => Trainee!.Facts.GoesOn ? ", goes on until the next application is decided" : $" to {ScreenWords.DayAndYear(Trainee.Facts.RegisteredTo)}";

    public string Words(GivenLesson lesson) => $"{School.Time(lesson.Start)}, {ScreenWords.Length(lesson.Minutes)}";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (await ShowAsync(cancel) is not { } page)
        {
            return NotFound();
        }

        Input.Date = School.Today(clock);
        return page;
    }

    public async Task<IActionResult> OnPostKeepAsync(CancellationToken cancel)
    {
        if (Id is not { } id || await ShowAsync(cancel) is not { } page)
        {
            return NotFound();
        }

        if (Input.Date is null && ModelState.IsValid)
        {
            ModelState.AddModelError("Input.Date", "Enter the day.");
        }

        if (!ModelState.IsValid)
        {
            return page;
        }

        var kept = await keep.RunAsync(viewer, id, new(Input.Date!.Value, new(Input.Minutes, Input.By, Input.ByName, Input.ByNumber)), null, cancel);
        if (kept.Ok)
        {
            TempData["Done"] = $"{ScreenWords.DayAndYear(kept.Value.Date)} is kept: {ScreenWords.Length(kept.Value.Minutes)} by {kept.Value.ByName}.";
            return LocalRedirect($"/diary/supervision/{id}");
        }

        AddRefusal(kept.Refusal);
        return page;
    }

    public async Task<IActionResult> OnPostRemoveAsync(LocalDate? date, CancellationToken cancel)
    {
        if (Id is not { } id || date is not { } on)
        {
            return NotFound();
        }

        var removed = await remove.RunAsync(viewer, id, on, null, cancel);
        if (!removed.Ok && removed.Refusal.Kind is not RefusalKind.NotFound)
        {
            this.AddRefusal(removed.Refusal);
            return await ShowAsync(cancel) ?? (IActionResult)NotFound();
        }

        // Gone already is as good as gone now.
        TempData["Done"] = $"{ScreenWords.DayAndYear(on)} was taken back.";
        return LocalRedirect($"/diary/supervision/{id}");
    }

    private void AddRefusal(Refusal refusal)
    {
        this.AddRefusal(refusal, refusal.Fields.Count > 0 ? nameof(Input) : "");
        if (ModelState.Remove($"{nameof(Input)}.{nameof(SupervisionInput.ByInstructorId)}") && refusal.Fields.TryGetValue(nameof(SupervisionInput.ByInstructorId), out var sentences))
        {
            ModelState.AddModelError($"{nameof(Input)}.{nameof(DayForm.By)}", sentences[0]);
        }
    }

    private async Task<PageResult?> ShowAsync(CancellationToken cancel)
    {
        School = await school.GetAsync(cancel);
        var all = await instructors.ListAsync(alsoRetired: true, cancel);
        var id = Id ?? viewer.InstructorId;
        if (id is null)
        {
            Choices = [.. all.Where(SupervisionBook.IsKeptOf)];
            return Page();
        }

        if (!viewer.KeepsDiaryOf(id.Value) || all.FirstOrDefault(card => card.Id == id) is not { } card)
        {
            return null;
        }

        if (!SupervisionBook.IsKeptOf(card))
        {
            return Page();
        }

        (Trainee, Record) = (card, await book.ReadAsync(card, cancel));
        Approved = [.. all.Where(one => one.RetiredOn is null && one is { Facts.Kind: RegistrationKind.Approved, RegistrationNumber.Length: > 0 }).Select(one => new SelectListItem(one.Name, one.Id.ToString()))];
        return Page();
    }

    internal sealed class DayForm
    {
        public LocalDate? Date { get; set; }

        public int? Minutes { get; set; }

        public Guid? By { get; set; }

        public string? ByName { get; set; }

        public string? ByNumber { get; set; }
    }
}
