using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Pupils;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Home;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Weekly;

/// <summary>Books the same weekday and time for some weeks: asks, shows each date, books those that stay ticked.</summary>
[Needs(Permission.BookLessons)]
[OfPupil("pupil", Sight.Everything, Diary = true)]
internal sealed class IndexModel(
    PreviewWeekly preview, ChangeWeekly change, PlaceFinder places, PupilBook pupils, OwnPupils own, InstructorBook instructors, PictureLoader pictures, SchoolInfo school, SchoolDb db,
    IClock clock, Viewer viewer) : PageModel
{
    private const int UsualWeeks = 6;

    [BindProperty(SupportsGet = true)]
    public Guid? Pupil { get; set; }

    [BindProperty(SupportsGet = true)]
    public Guid? With { get; set; }

    /// <summary>On which day of the week; the first is the next such day from <see cref="First"/> on.</summary>
    [BindProperty(SupportsGet = true)]
    public IsoDayOfWeek? Day { get; set; }

    public static IReadOnlyList<SelectListItem> Days { get; } =
        [.. Enum.GetValues<IsoDayOfWeek>().Where(day => day is not IsoDayOfWeek.None).Select(day => new SelectListItem(day.ToString(), day.ToString()))];

    [BindProperty(SupportsGet = true)]
    public LocalDate? First { get; set; }

    [BindProperty(SupportsGet = true)]
    public LocalTime? Time { get; set; }

    [BindProperty(SupportsGet = true)]
    public int? Minutes { get; set; }

    [BindProperty(SupportsGet = true)]
    public LessonKind? Kind { get; set; }

    /// <summary>In which gearbox, where that is still to be asked of the pupil.</summary>
    [BindProperty(SupportsGet = true)]
    public Gearbox? Gearbox { get; set; }

    /// <summary>Whether it must be said before any date can be looked at.</summary>
    public bool AsksGearbox { get; private set; }

    public static IReadOnlyList<SelectListItem> Gearboxes { get; } = [new("Manual", nameof(Core.Cars.Gearbox.Manual)), new("Automatic", nameof(Core.Cars.Gearbox.Automatic))];

    /// <summary>The kind that the form showed beside its length: another that is chosen has lengths of its own.</summary>
    [BindProperty(SupportsGet = true)]
    public LessonKind? Beside { get; set; }

    public IReadOnlyList<SelectListItem> Kinds { get; private set; } = [];

    /// <summary>What the school calls the kind; null for a lesson like any other.</summary>
    public string? KindName { get; private set; }

    [BindProperty(SupportsGet = true)]
    public int? Weeks { get; set; }

    [BindProperty(SupportsGet = true, Name = LessonPlaces.Prefix)]
    public LessonPlaces Places { get; set; } = new();

    public bool PlacesWrong => LessonPlaces.AreWrong(ModelState);

    /// <summary>The starts that stay ticked.</summary>
    [BindProperty]
    public string[] Starts { get; set; } = [];

    public bool Staff => viewer.IsStaff;

    public Viewer Viewer => viewer;

    public SchoolFacts School { get; private set; } = null!;

    /// <summary>The pupil's own places and the school's, to choose with one press.</summary>
    public IReadOnlyList<KnownPlace> Known { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Pupils { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Teachers { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Lengths { get; private set; } = [];

    /// <summary>Null until everything is chosen.</summary>
    public WeeklyPreview? Found { get; private set; }

    /// <summary>From where to where, as far as the viewer sees the pupil.</summary>
    public string Where { get; private set; } = "";

    /// <summary>All that fit at first, but public holidays; what was ticked when it was sent.</summary>
    public bool Ticked(WeeklyDate date, string start) => HttpMethods.IsGet(Request.Method) ? date.Holiday is null : Starts.Contains(start);

    public bool OnHolidays => Found!.Dates.Any(date => date.Fits && date.Holiday is not null);

    public int Fitting => Found!.Dates.Count(date => date.Fits);

    /// <summary>Why, where no date fits, each reason once with its dates; null where some do.</summary>
    public IReadOnlyList<(string Sentence, IReadOnlyList<LocalDate> Dates)>? NoneFits => Fitting > 0 ? null
        : [.. Found!.Dates.GroupBy(date => date.Sentence ?? "").Select(group => (group.Key, (IReadOnlyList<LocalDate>)[.. group.Select(date => date.Date)]))];

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        await LoadAsync(cancel);
        // The bare address is where the form is filled in; the form itself always sends its fields.
        if ((Request.Query.ContainsKey(nameof(First)) || Request.Query.ContainsKey(nameof(Day))) && Request.Query.ContainsKey(nameof(Time)))
        {
            return await LookAsync(cancel) ? Page() : NotFound();
        }

        Weeks ??= UsualWeeks;
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        await LoadAsync(cancel);
        if (await RequestAsync(cancel) is not { } wanted)
        {
            return Page();
        }

        var starts = Starts.Select(StartText.Read).OfType<Instant>().ToList();
        var booked = await change.RunAsync(viewer, new(Starts: wanted.ToStarts(starts)), cancel);
        // Pressed twice: the other press has booked just these.
        if ((booked.Ok ? booked.Value.Lessons : await BookedBeforeAsync(wanted, starts, cancel)) is [var first, ..] lessons)
        {
            TempData["Done"] = $"{Words.Count(lessons.Count, "lesson")} booked, the first {School.When(first.During)}.";
            return Redirect(LessonLinks.Of(first.Id));
        }

        var refusal = booked.Refusal!;
        if (refusal.Kind == RefusalKind.NotFound)
        {
            return NotFound();
        }

        this.AddRefusal(refusal);
        return await LookAsync(cancel) ? Page() : NotFound();
    }

    /// <summary>The weekly lessons that stand at all of these starts and nowhere else; empty when there are none.</summary>
    private async Task<IReadOnlyList<Lesson>> BookedBeforeAsync(WeeklyRequest wanted, List<Instant> starts, CancellationToken cancel)
    {
        var there = db.Set<Lesson>().AsNoTracking().VisibleTo(viewer)
            .Where(l => l.PupilId == wanted.PupilId && l.InstructorId == wanted.InstructorId && l.State == LessonState.Booked && l.SeriesId != null
                && l.Kind == (wanted.Kind ?? LessonKind.Standard));
        var series = await there.Where(l => starts.Contains(l.StartsAt)).Select(l => l.SeriesId).Distinct().ToListAsync(cancel);
        if (series is not [var one])
        {
            return [];
        }

        var lessons = await there.Where(l => l.SeriesId == one).OrderBy(l => l.StartsAt).ToListAsync(cancel);
        return lessons.Select(l => l.StartsAt).SequenceEqual(starts.Distinct().Order()) ? lessons : [];
    }

    /// <summary>Shows each date; false when pupil or instructor are not the viewer's.</summary>
    private async Task<bool> LookAsync(CancellationToken cancel)
    {
        if (await RequestAsync(cancel) is not { } wanted)
        {
            return true;
        }

        var found = await preview.RunAsync(wanted, viewer, cancel);
        if (found.Ok)
        {
            Found = found.Value;
            var asked = found.Value.Asked;
            var seen = viewer.KeepsDiary ? await own.VeilAsync(viewer, asked.Pupil, cancel) : asked.Pupil;
            Where = Words.Route(Words.Shown(asked.PickUp, seen), Words.Shown(asked.DropOff, seen));
        }
        else if (found.Refusal.Kind == RefusalKind.NotFound)
        {
            return false;
        }
        else
        {
            this.AddRefusal(found.Refusal);
        }

        return true;
    }

    private async Task<WeeklyRequest?> RequestAsync(CancellationToken cancel)
    {
        if (Day is { } day and not IsoDayOfWeek.None && (First ?? clock.GetCurrentInstant().InZone(School.Zone).Date.PlusDays(1)) is var from && from.DayOfWeek != day)
        {
            // What stands in the form is the day that is meant.
            First = from.Next(day);
            ModelState.Remove(nameof(First));
        }

        var errors = new FieldErrors()
            .When(Pupil is null, nameof(Pupil), "Choose a pupil.")
            .When(With is null, nameof(With), "Choose an instructor.")
            .When(First is null && Fine(nameof(First)) && Fine(nameof(Day)), nameof(Day), "Choose a day of the week, or enter the first date.")
            .When(Time is null && Fine(nameof(Time)), nameof(Time), "Enter the time that they start.")
            .When(Weeks is null && Fine(nameof(Weeks)), nameof(Weeks), "Enter for how many weeks.")
            .WrongYear(nameof(First), First);
        var start = errors.Any || !ModelState.IsValid ? default : errors.ReadStart(nameof(Time), First!.Value + Time!.Value, School.Zone);
        var pupil = Pupil is { } id ? await pupils.FindAsync(id, viewer, cancel) : null;
        if (pupil is not null)
        {
            await Places.IntoAsync(new(pupil.Id, LessonStarts.FirstDate, LessonStarts.FirstDate), pupil.PickUp, places, viewer, errors, cancel);
        }

        if (errors.ToRefusal() is { } refusal)
        {
            this.AddRefusal(refusal);
        }

        if (!ModelState.IsValid)
        {
            return null;
        }

        var rules = await pictures.RulesAsync(cancel);
        Minutes = rules.KindOf(Kind ?? LessonKind.Standard).Length(rules, Beside, Minutes, pupil?.LessonMinutes ?? Lesson.ShortestMinutes);
        var (pickUp, dropOff) = pupil is null ? (null, null) : Places.For(pupil.PickUp);
        return new(Pupil!.Value, With!.Value, start, Minutes.Value, Weeks!.Value, PickUp: pickUp, DropOff: dropOff, Kind: Kind, Gearbox: Gearbox);
    }

    private bool Fine(string field) => ModelState.GetFieldValidationState(field) != Microsoft.AspNetCore.Mvc.ModelBinding.ModelValidationState.Invalid;

    private async Task LoadAsync(CancellationToken cancel)
    {
        School = await school.GetAsync(cancel);
        Day ??= First?.DayOfWeek;
        Pupil ??= viewer.PupilId;
        var pupil = Pupil is { } id ? await pupils.FindAsync(id, viewer, cancel) : null;
        With ??= viewer.InstructorId ?? pupil?.UsualInstructorId;
        Known = await places.KnownAsync(Pupil, viewer, cancel);
        Pupils = viewer.ArrangesLessons ? [.. (await pupils.NamesAsync(viewer, cancel)).Select(p => new SelectListItem(p.Name, p.Id.ToString()))] : [];
        Teachers = [.. (await instructors.ListAsync(alsoRetired: false, cancel)).Where(i => viewer.MayBookWith(i.Id) && (pupil is null || i.Id == With || pupil.Missing.HasFlag(FirstLessonNeeds.Gearbox) || i.Teaches(pupil)))
            .Select(i => new SelectListItem(i.Choice, i.Id.ToString()))];
        AsksGearbox = Staff && pupil?.Missing.HasFlag(FirstLessonNeeds.Gearbox) == true;
        var rules = await pictures.RulesAsync(cancel);
        Kinds = KindWords.Choices(rules, viewer);
        KindName = rules.NameOf(Kind ?? LessonKind.Standard);
        Lengths = [.. rules.LengthsOf(Kind ?? LessonKind.Standard).Order().Select(m => new SelectListItem(Platform.Layout.ScreenWords.Length(m), $"{m}"))];
    }
}
