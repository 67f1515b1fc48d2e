using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Core.Diary;
using School.Core.Pupils;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Search;

[Needs(Permission.BookLessons)]
[OfPupil("pupil", Sight.Everything, Diary = true)]
internal sealed class BookModel(FreeTimes times, PlaceFinder places, PupilBook pupils, OwnPupils own, PictureLoader pictures, InstructorBook instructors, PupilsToBook toBook, SchoolInfo school, FirstSteps steps, Viewer viewer, IClock clock)
    : TimesPage(instructors, viewer)
{
    /// <summary>What the school still lacks before anybody can book; for whoever can add it.</summary>
    public IReadOnlyList<FirstStep> Lacks { get; private set; } = [];

    /// <summary>For whom; staff choose, a pupil books for nobody else.</summary>
    [BindProperty(SupportsGet = true)]
    public Guid? Pupil { get; set; }

    [BindProperty(SupportsGet = true)]
    public int? Minutes { get; set; }

    [BindProperty(SupportsGet = true)]
    public LessonKind? Kind { get; set; }

    public IReadOnlyList<SelectListItem> Kinds { get; private set; } = [];

    /// <summary>What the school gives besides and books itself; told to pupils.</summary>
    public IReadOnlyList<string> BookedBySchool { get; private set; } = [];

    /// <summary>The length by the name of its kind, where it has one.</summary>
    public string What { get; private set; } = "";

    [BindProperty(SupportsGet = true, Name = LessonPlaces.Prefix)]
    public LessonPlaces Places { get; set; } = new();

    /// <summary>The kind that the form showed beside its length: another that is chosen has lengths of its own.</summary>
    [BindProperty(SupportsGet = true)]
    public LessonKind? Beside { get; set; }

    public PupilCard? For { get; private set; }

    /// <summary>The pupil's own places and the school's, to choose with one press.</summary>
    public IReadOnlyList<KnownPlace> Known { get; private set; } = [];

    /// <summary>Where the lesson would begin, and where it would end if that is elsewhere.</summary>
    public string Where { get; private set; } = "";

    /// <summary>What a place that is still to be found means for the times.</summary>
    public string? StillToFind { get; private set; }

    public bool PlacesWrong => LessonPlaces.AreWrong(ModelState);

    /// <summary>Where the same is booked for each week.</summary>
    public string Weekly => $"/diary/weekly{Query}minutes={Minutes}{(Guid.TryParse(With, out var id) ? $"&with={id}" : "")}{KindWords.Query(Kind, UsualKind)}{Places.Query}";

    public DiaryRules Rules { get; private set; } = null!;

    /// <summary>What booking begins at for this pupil.</summary>
    public LessonKind UsualKind { get; private set; }

    public IReadOnlyList<SelectListItem> Lengths { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Pupils { get; private set; } = [];

    /// <summary>Those whom one press books for.</summary>
    public IReadOnlyList<PupilToBook> Likely { get; private set; } = [];

    /// <summary>From each of the pupil's own places on to the usual one, with one press; the usual one first.</summary>
    public IReadOnlyList<RouteToTake> Routes { get; private set; } = [];

    public string Teacher => Teachers.FirstOrDefault(t => t.Value == With && t.Value != Anyone)?.Text ?? "whoever is free";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        await pictures.AheadAsync(cancel, Standing.Rules);
        School = await school.GetAsync(cancel);
        Rules = await pictures.RulesAsync(cancel);
        if ((Viewer.PupilId ?? Pupil) is not { } pupilId)
        {
            Likely = await toBook.ListAsync(Viewer, cancel);
            Pupils = [.. (await pupils.NamesAsync(Viewer, cancel)).Select(p => new SelectListItem(p.Name, p.Id.ToString()))];
            return Page();
        }

        if (await pupils.FindAsync(pupilId, Viewer, cancel) is not { } pupil)
        {
            return NotFound();
        }

        // Whoever keeps the diary books for those whom they see by name alone.
        (For, Pupil) = (Viewer.KeepsDiary ? await own.VeilAsync(Viewer, pupil, cancel) : pupil, pupilId);
        Known = await places.KnownAsync(pupilId, Viewer, cancel);
        UsualKind = KindWords.UsualFor(For, School.Today(clock), Rules, Viewer);
        var kind = Rules.KindOf(Kind ??= UsualKind);
        Kinds = KindWords.Choices(Rules, Viewer);
        BookedBySchool = Viewer.IsStaff ? [] : KindWords.BookedBySchool(Rules);
        What = Rules.NameOf(kind.Kind) is { } name ? $"{name}, " : "";
        var usual = kind.Usual(pupil.LessonMinutes);
        var minutes = kind.Length(Rules, Beside, Minutes, pupil.LessonMinutes);
        var teacher = await ReadTeacherAsync(pupil.UsualInstructorId, i => i.Facts.Teaches.Contains(pupil.Gearbox), cancel);
        Lengths = [.. Rules.LengthsOf(kind.Kind).Append(usual).Append(minutes).Distinct().Order()
            .Select(m => new SelectListItem(ScreenWords.Length(m), $"{m}"))];
        var errors = new FieldErrors();
        var from = ReadFrom() ?? new LocalDate(1, 1, 1);
        var question = await Places.IntoAsync(new(pupilId, from, from, InstructorId: teacher) { Kind = kind.Kind }, pupil.PickUp, places, Viewer, errors, cancel);
        if (errors.ToRefusal() is { } nowhere)
        {
            this.AddRefusal(nowhere);
            Minutes = minutes;
            return Page();
        }

        var (start, end) = (Words.Shown(question.PickUp ?? pupil.PickUp, For), question.DropOff is { } other ? Words.Shown(other, For) : null);
        Where = Words.Route(start, end);
        StillToFind = Words.StillToFind(start, end ?? start);
        if (ReadTyped() is { } typed)
        {
            if (teacher is { } id)
            {
                return Redirect(Check(typed, id, minutes));
            }

            ModelState.AddModelError(nameof(With), "Choose an instructor for a time of your own");
        }

        // A length that cannot be is told, and the times of the usual one are shown.
        var wrong = !Asked(minutes);
        if (wrong)
        {
            ModelState.AddModelError(nameof(Minutes), SlotFinder.LessonLength);
            minutes = usual;
        }

        Minutes = minutes;
        if (pupil.Missing != FirstLessonNeeds.None)
        {
            // No time fits before it is known: the page says what it is instead of looking.
            return Page();
        }

        var week = await times.WeekAsync(question with { Minutes = minutes }, Viewer, cancel);
        if (!week.Ok)
        {
            this.AddRefusal(week.Refusal);
            return week.Refusal.Kind == RefusalKind.NotFound ? NotFound() : Page();
        }

        // What fits in with others close by is not known of the middle of a district.
        Week = StillToFind is null ? week.Value : week.Value with { Best = [] };
        Routes = RoutesOf(week.Value.Question, pupil);
        Lacks = week.Value.Days.Count == 0 && Viewer.May(Permission.ManageSchool) ? await steps.InTheWayAsync(Request, cancel) : [];
        return Page();
    }

    /// <summary>Where times for a pupil of the list are looked for, from their usual place or from one that they named.</summary>
    public string Choose(PupilToBook pupil, KnownPlace? from) =>
        $"/diary/book?pupil={pupil.Id}{(With is { } with ? $"&with={Uri.EscapeDataString(with)}" : "")}{(From is { } day ? $"&from={day:uuuu-MM-dd}" : "")}{(from is null ? "" : LessonPlaces.From(from.Id).Query)}";

    private List<RouteToTake> RoutesOf(SlotQuestion question, PupilCard pupil)
    {
        var own = Known.Where(place => place.Own).ToList();
        return own.Count == 0 ? [] :
        [
            new($"From {pupil.PickUp.Label}", Here(question, new()), !Places.Fields.Any()),
            .. own.Select(place => new RouteToTake($"From {place.At.Label}, then {pupil.PickUp.Label}", Here(question, LessonPlaces.From(place.Id)), Places.IsFrom(place.Id))),
        ];
    }

    public override string Here(SlotQuestion question) => Here(question, Places);

    private string Here(SlotQuestion question, LessonPlaces places) =>
        $"/diary/book{Query}minutes={question.Minutes}&with={WithWords(question.InstructorId)}&from={question.From:uuuu-MM-dd}{KindWords.Query(Kind, UsualKind)}{places.Query}";

    public override string Check(OfferedTime time) => Check(time.During.Start, time.InstructorId, Minutes!.Value);

    private string Check(Instant start, Guid instructorId, int minutes) =>
        $"/diary/book/check{Query}start={StartText.Of(start)}&minutes={minutes}&with={instructorId}{KindWords.Query(Kind, UsualKind)}{Places.Query}";

    private string Query => Viewer.IsStaff ? $"?pupil={Pupil}&" : "?";

    private static bool Asked(int minutes) => minutes is >= Lesson.ShortestMinutes and <= Lesson.LongestMinutes;

    internal sealed record RouteToTake(string Words, string Href, bool Taken);
}
