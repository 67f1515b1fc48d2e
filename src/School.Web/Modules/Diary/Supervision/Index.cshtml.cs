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

    /// <summary>Another period than that of the licence.</summary>
    [BindProperty(SupportsGet = true)]
    public LocalDate? From { get; set; }

    [BindProperty(SupportsGet = true)]
    public LocalDate? To { get; set; }

    [BindProperty]
    public DayForm Input { get; set; } = new();

    public InstructorCard? Trainee { get; private set; }

    public SupervisionRecord? Record { get; private set; }

    /// <summary>Trainees under option 1, and all who have a record of former days, for the office to choose among.</summary>
    public IReadOnlyList<InstructorCard> Choices { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Approved { get; private set; } = [];

    public SchoolFacts School { get; private set; } = null!;

    public string Percent => string.Create(CultureInfo.InvariantCulture, $"{Math.Floor(Record!.Share * 1000) / 10:0.0} %");

    public string Licence => !SupervisionBook.IsKeptOf(Trainee!)
        ? "none under option 1 now; this is what was entered before"
        : $"{(Trainee!.RegistrationNumber.Length > 0 ? Trainee.RegistrationNumber : "number still to be asked")}, from {ScreenWords.DayAndYear(Trainee.Facts.RegisteredFrom!.Value)}{Ends}";

    private string Ends => Trainee!.RegisteredTo is not { } last ? ", last day still to be asked"
        : Trainee.Facts.AppliedAgainOn <= last ? ", goes on until the next application is decided"
        : $" to {ScreenWords.DayAndYear(last)}";

    /// <summary>The day typed is entered already: what was typed would take its place.</summary>
    public bool PutsRight => Input.Version is not null && Input.Date == Input.VersionOf;

    /// <summary>Asked only where the diary says that whoever sat in was elsewhere.</summary>
    public bool AsksToConfirm => Input.ThereAllTheSame || ModelState.Refusal()?.Code == "supervisor_elsewhere";

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

        var kept = await keep.RunAsync(viewer, id, new(Input.Date!.Value, new(Input.Minutes, Input.By, Input.ByName, Input.ByNumber, Input.ThereAllTheSame), PutsRight ? Input.VersionBy : null), PutsRight ? Input.Version : null, cancel);
        if (kept.Ok)
        {
            TempData["Done"] = $"{ScreenWords.DayAndYear(kept.Value.Date)} is kept: {ScreenWords.Length(kept.Value.Minutes)} by {kept.Value.ByName}.";
            return LocalRedirect($"/diary/supervision/{id}");
        }

        AddRefusal(kept.Refusal);
        if (kept.Refusal.More.GetValueOrDefault(KeepSupervision.VersionMember) is int version)
        {
            (Input.Version, Input.VersionOf, Input.VersionBy) = (version, Input.Date, kept.Refusal.More[KeepSupervision.NumberMember] as string);
        }
        else if (kept.Refusal.Kind == RefusalKind.Stale)
        {
            // Asked again without a version, what stands by then is told before anything takes its place.
            (Input.Version, Input.VersionOf, Input.VersionBy) = (null, null, null);
        }

        return page;
    }

    public async Task<IActionResult> OnPostRemoveAsync(LocalDate? date, string? by, CancellationToken cancel)
    {
        if (Id is not { } id || date is not { } on)
        {
            return NotFound();
        }

        var removed = await remove.RunAsync(viewer, id, new(on, by), null, cancel);
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
            var entered = await book.WithDaysAsync(cancel);
            Choices = [.. all.Where(card => SupervisionBook.IsKeptOf(card) || entered.Contains(card.Id))];
            return Page();
        }

        if (!viewer.KeepsDiaryOf(id.Value) || all.FirstOrDefault(card => card.Id == id) is not { } card)
        {
            return null;
        }

        if (new FieldErrors().WrongYear(nameof(From), From).WrongYear(nameof(To), To).When(From > To, nameof(To), "The last day must not be before the first.").ToRefusal() is { } wrong)
        {
            this.AddRefusal(wrong, "");
            (From, To) = (null, null);
        }

        if (await book.ReadAsync(card, From, To, cancel) is not { } record)
        {
            return Page();
        }

        (Trainee, Record) = (card, record);
        Approved = [.. all.Where(one => one.RetiredOn is null && one.Id != card.Id && CouldSitIn(one, record)).Select(one => new SelectListItem(one.Name, one.Id.ToString()))];
        return Page();
    }

    // Approved, with a registration that is known and held on some day of the record.
    private static bool CouldSitIn(InstructorCard one, SupervisionRecord record) =>
        one is { Facts.Kind: RegistrationKind.Approved, RegistrationNumber.Length: > 0 } && one.Facts.RegisteredTo >= record.From && !(one.Facts.RegisteredFrom > record.Until);

    internal sealed class DayForm
    {
        /// <summary>The version of the day entered already that was shown; null where none was.</summary>
        public int? Version { get; set; }

        /// <summary>The day that the version is of.</summary>
        public LocalDate? VersionOf { get; set; }

        /// <summary>The number of whoever it is of.</summary>
        public string? VersionBy { get; set; }

        public LocalDate? Date { get; set; }

        public int? Minutes { get; set; }

        public Guid? By { get; set; }

        /// <summary>Their own diary has something else then, and it is confirmed that they sat in.</summary>
        public bool ThereAllTheSame { get; set; }

        public string? ByName { get; set; }

        public string? ByNumber { get; set; }
    }
}
