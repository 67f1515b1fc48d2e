using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Pupils;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Search;

[Needs(Permission.BookLessons)]
[OfPupil("pupil", Sight.Everything, Diary = true)]
internal sealed class BookModel(FreeTimes times, PlaceFinder places, PupilBook pupils, OwnPupils own, PictureLoader pictures, InstructorBook instructors, PupilsToBook toBook, PupilLessons lessons, IEnumerable<ILessonPrices> prices, SchoolInfo school, FirstSteps steps, Viewer viewer, IClock clock)
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

    /// <summary>In which gearbox, where that is still to be asked of the pupil.</summary>
    [BindProperty(SupportsGet = true)]
    public Gearbox? Gearbox { get; set; }

    /// <summary>Whether it must be said before any time is looked for: those who might teach them teach in both.</summary>
    public bool AsksGearbox { get; private set; }

    /// <summary>What stands in the way of booking for them.</summary>
    public StillNeeded Needed { get; private set; } = null!;

    /// <summary>This page with the gearbox said.</summary>
    public string In(Gearbox gearbox) => $"{Request.Path}{Request.QueryString.Add("gearbox", QueryWord.Of(gearbox))}";

    /// <summary>From when on the first free time is looked for, such as the beginning of an opening.</summary>
    [BindProperty(SupportsGet = true)]
    public string? After { get; set; }

    /// <summary>Whom staff look for.</summary>
    [BindProperty(SupportsGet = true)]
    public string? Find { get; set; }

    public PupilCard? For { get; private set; }

    /// <summary>The first free time that suits, to be booked with one press.</summary>
    public FirstFree? First { get; private set; }

    /// <summary>What it costs; null where no money is kept.</summary>
    public ToldPrice? Price { get; private set; }

    /// <summary>The pupil's own places and the school's, to choose with one press.</summary>
    public IReadOnlyList<KnownPlace> Known { get; private set; } = [];

    /// <summary>Where the lesson would begin, and where it would end if that is elsewhere.</summary>
    public string Where { get; private set; } = "";

    public Place Begin { get; private set; } = Place.Unknown;

    public Place End { get; private set; } = Place.Unknown;

    /// <summary>What a place that is still to be found means for the times.</summary>
    public string? StillToFind { get; private set; }

    public bool PlacesWrong => LessonPlaces.AreWrong(ModelState);

    /// <summary>Where the same is booked for each week.</summary>
    public string Weekly => $"/diary/weekly{Query}minutes={Minutes}{(Guid.TryParse(With, out var id) ? $"&with={id}" : "")}{KindWords.Query(Kind, UsualKind)}{Places.Query}";

    public DiaryRules Rules { get; private set; } = null!;

    /// <summary>What booking begins at for this pupil.</summary>
    public LessonKind UsualKind { get; private set; }

    public IReadOnlyList<SelectListItem> Lengths { get; private set; } = [];

    /// <summary>Those whom one press books for: who fits what was typed, else whom it most likely is.</summary>
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
            return await ChoosePupilAsync(cancel);
        }

        if (await pupils.FindAsync(pupilId, Viewer, cancel) is not { } pupil)
        {
            return NotFound();
        }

        // Whoever keeps the diary books for those whom they see by name alone.
        (For, Pupil) = (Viewer.KeepsDiary ? await own.VeilAsync(Viewer, pupil, cancel) : pupil, pupilId);
        Known = await places.KnownAsync(pupilId, Viewer, cancel);
        var open = Viewer.IsStaff && pupil.Missing.HasFlag(FirstLessonNeeds.Gearbox);
        var teacher = await ReadTeacherAsync(pupil.UsualInstructorId, i => open ? Gearbox is not { } said || i.Facts.Teaches.Contains(said) : i.Facts.Teaches.Contains(pupil.Gearbox), cancel);
        var teaching = (await Instructors.ListAsync(alsoRetired: false, cancel)).Where(i => teacher is null || i.Id == teacher);
        pupil = open ? LearnsIn.Settled(pupil, Gearbox, teaching.Select(i => i.Facts.Teaches)) : pupil;
        Gearbox = open && !pupil.Missing.HasFlag(FirstLessonNeeds.Gearbox) ? pupil.Gearbox : null;
        Needed = StillNeeded.ToBook(pupil, Viewer);
        UsualKind = KindWords.UsualFor(For, School.Today(clock), Rules, Viewer);
        var kind = Rules.KindOf(Kind ??= UsualKind);
        Kinds = KindWords.Choices(Rules, Viewer);
        BookedBySchool = Viewer.IsStaff ? [] : KindWords.BookedBySchool(Rules);
        What = Rules.NameOf(kind.Kind) is { } name ? $"{name}, " : "";
        var usual = kind.Usual(pupil.LessonMinutes);
        var minutes = kind.Length(Rules, Beside, Minutes, pupil.LessonMinutes);
        Lengths = [.. Rules.LengthsOf(kind.Kind).Append(usual).Append(minutes).Distinct().Order()
            .Select(m => new SelectListItem(ScreenWords.Length(m), $"{m}"))];
        var errors = new FieldErrors();
        // An opening names its own day.
        From ??= StartText.Read(After)?.InZone(School.Zone).Date;
        var from = ReadFrom() ?? new LocalDate(1, 1, 1);
        var question = await Places.IntoAsync(new(pupilId, from, from, InstructorId: teacher) { Kind = kind.Kind, Gearbox = Gearbox }, pupil.PickUp, places, Viewer, errors, cancel);
        if (errors.ToRefusal() is { } nowhere)
        {
            this.AddRefusal(nowhere);
            Minutes = minutes;
            return Page();
        }

        var (start, end) = (Words.Shown(question.PickUp ?? pupil.PickUp, For), question.DropOff is { } other ? Words.Shown(other, For) : null);
        (Where, Begin, End) = (Words.Route(start, end), start, end ?? start);
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
        AsksGearbox = Needed.Missing == FirstLessonNeeds.Gearbox && open;
        if (Needed.Missing != FirstLessonNeeds.None)
        {
            // No time fits before it is known: the page says what it is, or asks, instead of looking.
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
        Routes = RoutesOf(week.Value.Question, pupil, For.NameOnly ? null : await lessons.LastPlacesAsync(pupilId, Viewer, cancel));
        First = FirstOf(week.Value);
        foreach (var told in First is null ? [] : prices)
        {
            Price = await told.TellAsync(new(pupilId, First!.Time.InstructorId, pupil.Gearbox, kind.Kind, First.Time.During.Start, minutes), Viewer, cancel);
        }

        Lacks = week.Value.Days.Count == 0 && Viewer.May(Permission.ManageSchool) ? await steps.InTheWayAsync(Request, cancel) : [];
        return Page();
    }

    private async Task<IActionResult> ChoosePupilAsync(CancellationToken cancel)
    {
        if (Find is null)
        {
            Likely = await toBook.ListAsync(Viewer, cancel);
            return Page();
        }

        var found = await toBook.FindAsync(Viewer, Find, cancel);
        if (found.Ok)
        {
            Likely = found.Value;
        }
        else
        {
            ModelState.AddModelError(nameof(Find), found.Refusal.Fields.Values.First()[0]);
        }

        return Page();
    }

    /// <summary>Some time is sooner, but not in the hours that were stated, or can no longer be given up free of charge.</summary>
    public bool SoonerThanFirst => First is { } first && After is null && Week is { } week && week.Days.SelectMany(day => day.Times).Any(time => time.During.Start < first.Time.During.Start);

    private FirstFree? FirstOf(FreeWeek week) => week.FirstFrom(StartText.Read(After)) is not { } time ? null
        : new(time, [.. LessonPlan.Of(Minutes!.Value, Rules).Breaks.Select(rest => rest.During(time.During.Start))], StartTerms.Of(time.During.Start, Rules, School, Viewer, clock.GetCurrentInstant()));

    /// <summary>Where times for a pupil of the list are looked for, from their usual place or from one that they named.</summary>
    public string Choose(PupilToBook pupil, KnownPlace? from) =>
        $"/diary/book?pupil={pupil.Id}{(With is { } with ? $"&with={Uri.EscapeDataString(with)}" : "")}{(From is { } day ? $"&from={day:uuuu-MM-dd}" : "")}{AfterQuery}{(from is null ? "" : LessonPlaces.From(from.Id).Query)}";

    /// <summary>Where the last lesson began and ended comes first.</summary>
    private List<RouteToTake> RoutesOf(SlotQuestion question, PupilCard pupil, (Place PickUp, Place DropOff)? last)
    {
        var before = last is { } places ? LessonPlaces.Between(places.PickUp, places.DropOff, pupil.PickUp, Known) : new();
        List<(string Words, LessonPlaces Places)> ways =
        [
            ($"From {pupil.PickUp.Label}", new()),
            .. Known.Where(place => place.Own).Select(place => ($"From {place.At.Label}, then {pupil.PickUp.Label}", LessonPlaces.From(place.Id))),
        ];
        if (last is { } from && !ways.Exists(way => way.Places.Query == before.Query))
        {
            ways.Add((from.DropOff == from.PickUp ? $"From {from.PickUp.Label}" : $"From {from.PickUp.Label}, then {from.DropOff.Label}", before));
        }

        return ways.Count == 1 ? [] : [.. ways.OrderBy(way => way.Places.Query != before.Query).Select(way => new RouteToTake(way.Words, Here(question, way.Places), way.Places.Query == Places.Query))];
    }

    public override string Here(SlotQuestion question) => Here(question, Places);

    private string Here(SlotQuestion question, LessonPlaces places) =>
        $"/diary/book{Query}minutes={question.Minutes}&with={WithWords(question.InstructorId)}&from={question.From:uuuu-MM-dd}{AfterQuery}{KindWords.Query(Kind, UsualKind)}{places.Query}";

    public override string Check(OfferedTime time) => Check(time.During.Start, time.InstructorId, Minutes!.Value);

    private string Check(Instant start, Guid instructorId, int minutes) =>
        $"/diary/book/check{Query}start={StartText.Of(start)}&minutes={minutes}&with={instructorId}{KindWords.Query(Kind, UsualKind)}{Places.Query}";

    private string AfterQuery => StartText.Read(After) is { } after ? $"&after={StartText.Of(after)}" : "";

    private string Query => Viewer.IsStaff ? $"?pupil={Pupil}&{(Gearbox is { } gearbox ? $"gearbox={QueryWord.Of(gearbox)}&" : "")}" : "?";

    private static bool Asked(int minutes) => minutes is >= Lesson.ShortestMinutes and <= Lesson.LongestMinutes;

    internal sealed record FirstFree(OfferedTime Time, IReadOnlyList<Interval> Rests, StartTerms Terms);

    internal sealed record RouteToTake(string Words, string Href, bool Taken);
}
