using System.ComponentModel.DataAnnotations;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Pupils;

/// <summary>The weekly times at which a pupil can have lessons: the pupil's own, or any pupil's for staff.</summary>
[Needs(Permission.OwnDetails)]
[OfPupil("id", Sight.Everything)]
internal sealed class AvailabilityModel(SchoolDb db, PupilTimes times, ChangeAvailability change, SchoolInfo school, Viewer viewer) : PageModel
{
    private SchoolFacts facts = null!;

    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public TimeInput Input { get; set; } = new();

    public string Name { get; private set; } = "";

    public IReadOnlyList<AvailableTime> Times { get; private set; } = [];

    public bool Own => viewer.PupilId == Id;

    public string Back => Own ? "/pupils/me" : $"/pupils/{Id}";

    public static IEnumerable<IsoDayOfWeek> Weekdays => Enum.GetValues<IsoDayOfWeek>().Where(day => day != IsoDayOfWeek.None);

    public string Words(AvailableTime time) =>
        $"{ScreenWords.Time(time.From, facts.TwelveHourClock)} to {ScreenWords.Time(time.To, facts.TwelveHourClock)}";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel) => await LoadAsync(fresh: true, cancel) ? Page() : NotFound();

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!await LoadAsync(fresh: false, cancel))
        {
            return NotFound();
        }

        if (Input.Days.Count == 0)
        {
            ModelState.AddModelError("Input.Days", "Choose at least one day.");
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var added = Input.Days.Distinct().Order().Select(day => new AvailableTime(day, Input.From!.Value, Input.To!.Value));
        return await SaveAsync([.. Times, .. added], "The time is kept.", cancel);
    }

    public async Task<IActionResult> OnPostRemoveAsync(int index, CancellationToken cancel)
    {
        ModelState.Clear();
        return !await LoadAsync(fresh: false, cancel) ? NotFound()
            : await SaveAsync([.. Times.Where((_, at) => at != index)], "The time is removed.", cancel);
    }

    private async Task<IActionResult> SaveAsync(IReadOnlyList<AvailableTime> wanted, string done, CancellationToken cancel)
    {
        var changed = await change.RunAsync(viewer, Id, wanted, Version, cancel);
        if (changed.Ok)
        {
            TempData["Done"] = done;
            return RedirectToPage();
        }

        // What is wrong is always with the time being added; its place in the list means nothing on the form.
        foreach (var (field, sentences) in changed.Refusal.Fields)
        {
            ModelState.AddModelError(field.Contains("To", StringComparison.Ordinal) ? "Input.To" : "Input.From", sentences[0]);
        }

        if (changed.Refusal.Fields.Count == 0)
        {
            this.AddRefusal(changed.Refusal);
        }

        return Page();
    }

    private async Task<bool> LoadAsync(bool fresh, CancellationToken cancel)
    {
        if (await db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(p => p.Id == Id, cancel) is not { } pupil)
        {
            return false;
        }

        facts = await school.GetAsync(cancel);
        Name = pupil.Name;
        Times = (await times.ReadAsync([Id], cancel))[Id];
        if (fresh)
        {
            Version = pupil.Version;
        }

        return true;
    }

    internal sealed class TimeInput
    {
        public List<IsoDayOfWeek> Days { get; set; } = [];

        [Required(ErrorMessage = "Enter when the time begins.")]
        public LocalTime? From { get; set; }

        [Required(ErrorMessage = "Enter when the time ends.")]
        public LocalTime? To { get; set; }
    }
}
