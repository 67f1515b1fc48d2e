using System.ComponentModel.DataAnnotations;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Courses;

/// <summary>Asks for an intensive course.</summary>
[Needs(Permission.PlanCourses)]
[OfPupil("pupil", Sight.Everything, Diary = true)]
internal sealed class IndexModel(PlanCourse plan, PlaceFinder places, PupilBook pupils, InstructorBook instructors, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    private const int UsualHours = 20;
    private const int UsualDays = 7;

    // Beyond it every number is as wrong.
    private const int MostHours = 1000;

    [BindProperty]
    public AskInput Input { get; set; } = new();

    [BindProperty(SupportsGet = true, Name = LessonPlaces.Prefix)]
    public LessonPlaces Places { get; set; } = new();

    public bool PlacesWrong => LessonPlaces.AreWrong(ModelState);

    /// <summary>The pupil's own places and the school's, to choose with one press.</summary>
    public IReadOnlyList<KnownPlace> Known { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Pupils { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Teachers { get; private set; } = [];

    public IReadOnlyList<SelectListItem> MostADay { get; } =
        [.. Enumerable.Range(4, 13).Select(halves => new SelectListItem($"{ScreenWords.Length(halves * 30)} a day", $"{halves * 30}"))];

    /// <summary>How many minutes fit where not all of them do.</summary>
    public int? Fits { get; private set; }

    /// <summary>With which changes all of it would fit: in words, and where the form has them.</summary>
    public IReadOnlyList<(string Words, string Href)> Instead { get; private set; } = [];

    /// <summary>Where what is in the way is put right.</summary>
    public string? Cure { get; private set; }

    /// <summary>The form with all of a request in it.</summary>
    public static string AddressOf(CourseRequest ask) =>
        $"/diary/courses?pupil={ask.PupilId}&with={ask.InstructorId}&minutes={ask.Minutes}&aDay={ask.MostMinutesADay}&first={ask.From:uuuu-MM-dd}&last={ask.To:uuuu-MM-dd}"
        + $"{(ask.OnHolidays ? "&onHolidays=true" : "")}{LessonPlaces.Of(ask.PickUp, ask.DropOff).Query}";

    public async Task OnGetAsync(Guid? pupil, Guid? with, int? minutes, int? aDay, LocalDate? first, LocalDate? last, bool onHolidays, CancellationToken cancel)
    {
        var tomorrow = (await school.GetAsync(cancel)).Today(clock).PlusDays(1);
        Input = new()
        {
            Pupil = pupil,
            With = viewer.InstructorId ?? with ?? (pupil is { } id ? (await pupils.FindAsync(id, viewer, cancel))?.UsualInstructorId : null),
            Hours = minutes is { } asked ? asked / 60m : UsualHours,
            MostADay = aDay ?? CourseRequest.UsualADay,
            First = first ?? tomorrow,
            Last = last ?? (first ?? tomorrow).PlusDays(UsualDays - 1),
            OnHolidays = onHolidays,
        };
        await ShowAsync(cancel);
    }

    public async Task<IActionResult> OnPostAsync(int? instead, CancellationToken cancel)
    {
        if (ModelState.IsValid && await AskAsync(instead, cancel) is { } asked)
        {
            var made = await plan.RunAsync(viewer, asked, cancel);
            if (made.Ok)
            {
                return Redirect($"/diary/courses/{made.Value.Id}");
            }

            if (made.Refusal.Kind is RefusalKind.NotFound)
            {
                return NotFound();
            }

            Fits = made.Refusal.More.GetValueOrDefault(CourseRules.FitsMember) is int minutes and >= CourseRequest.Fewest ? minutes : null;
            Instead = [.. (made.Refusal.More.GetValueOrDefault(CourseRules.CuresMember) as IReadOnlyList<CourseCure> ?? [])
                .Select(cure => ($"Plan it {cure.Sentence}", AddressOf(asked with { From = cure.From, To = cure.To, MostMinutesADay = cure.MostMinutesADay })))];
            Cure = made.Refusal.More.GetValueOrDefault(Refusal.PageMember) as string;
            AddToForm(made.Refusal);
        }

        await ShowAsync(cancel);
        return Page();
    }

    private async Task<CourseRequest?> AskAsync(int? instead, CancellationToken cancel)
    {
        if (await pupils.FindAsync(Input.Pupil!.Value, viewer, cancel) is not { } pupil)
        {
            ModelState.AddModelError("Input.Pupil", "Choose a pupil.");
            return null;
        }

        var errors = new FieldErrors();
        await Places.IntoAsync(new(pupil.Id, LessonStarts.FirstDate, LessonStarts.FirstDate), pupil.PickUp, places, viewer, errors, cancel);
        var minutes = Math.Clamp(Input.Hours!.Value, -1, MostHours) * 60;
        errors.When(minutes != decimal.Truncate(minutes), "Input.Hours", "Give the hours as a number such as 20 or 12.5.");
        if (errors.ToRefusal() is { } wrong)
        {
            this.AddRefusal(wrong);
            return null;
        }

        var (pickUp, dropOff) = Places.For(pupil.PickUp);
        return new(
            pupil.Id, Input.With!.Value, instead ?? (int)minutes, Input.First!.Value, Input.Last!.Value, Input.MostADay, OnHolidays: Input.OnHolidays, PickUp: pickUp, DropOff: dropOff);
    }

    private void AddToForm(Refusal refusal)
    {
        // The verb speaks of minutes; the form has hours.
        var fields = refusal.Fields.ToDictionary(
            f => f.Key switch { "Minutes" => nameof(Input.Hours), "MostMinutesADay" => nameof(Input.MostADay), "From" => nameof(Input.First), "To" => nameof(Input.Last), _ => f.Key },
            f => f.Value);
        this.AddRefusal(refusal with { Fields = fields }, fields.Count > 0 ? nameof(Input) : "");
    }

    private async Task ShowAsync(CancellationToken cancel)
    {
        Known = await places.KnownAsync(Input.Pupil, viewer, cancel);
        Pupils = [.. (await pupils.NamesAsync(viewer, cancel)).Select(p => new SelectListItem(p.Name, p.Id.ToString()))];
        Teachers = [.. (await instructors.ListAsync(alsoRetired: false, cancel)).Where(i => viewer.MayBookWith(i.Id)).Select(i => new SelectListItem(i.Choice, i.Id.ToString()))];
        Input.With ??= Teachers is [var only] ? Guid.Parse(only.Value) : null;
    }

    internal sealed class AskInput
    {
        [Required(ErrorMessage = "Choose a pupil.")]
        public Guid? Pupil { get; set; }

        [Required(ErrorMessage = "Choose an instructor.")]
        public Guid? With { get; set; }

        [Required(ErrorMessage = "Enter how many hours of teaching it has.")]
        public decimal? Hours { get; set; }

        public int MostADay { get; set; } = CourseRequest.UsualADay;

        [Required(ErrorMessage = "Enter the first day.")]
        public LocalDate? First { get; set; }

        [Required(ErrorMessage = "Enter the last day.")]
        public LocalDate? Last { get; set; }

        public bool OnHolidays { get; set; }
    }
}
