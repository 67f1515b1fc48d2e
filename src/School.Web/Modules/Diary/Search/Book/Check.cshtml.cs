using Microsoft.AspNetCore.Mvc;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Lessons.Move;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Search.Book;

[Needs(Permission.BookLessons)]
[OfPupil("pupil", Sight.Everything, Diary = true)]
internal sealed class CheckModel(
    BookLesson book, PlaceFinder places, SlotFinder slots, PupilLessons lessons, PupilBook pupils, OwnPupils own, InstructorBook instructors, PictureLoader pictures, SchoolInfo school,
    IEnumerable<ILessonPrices> prices, Viewer viewer, IClock clock) : CheckPage(slots, instructors, pictures, school, viewer, clock)
{
    [BindProperty(SupportsGet = true)]
    public Guid? Pupil { get; set; }

    [BindProperty(SupportsGet = true)]
    public int? Minutes { get; set; }

    [BindProperty(SupportsGet = true)]
    public LessonKind? Kind { get; set; }

    /// <summary>In which gearbox, where that is still to be asked of the pupil.</summary>
    [BindProperty(SupportsGet = true)]
    public Gearbox? Gearbox { get; set; }

    /// <summary>What the school calls its kind; null for a lesson like any other.</summary>
    public string? KindName => Rules.NameOf(Kind ?? LessonKind.Standard);

    [BindProperty(SupportsGet = true, Name = LessonPlaces.Prefix)]
    public LessonPlaces Places { get; set; } = new();

    public PupilCard For { get; private set; } = null!;

    /// <summary>What stands in the way of booking for them, whatever the time.</summary>
    public StillNeeded Needed => StillNeeded.ToBook(Viewer.IsStaff ? LearnsIn.Settled(For, Gearbox, [Teacher.Facts.Teaches]) : For, Viewer);

    public SlotQuestion Question { get; private set; } = null!;

    public Place PickUp => Words.Shown(Question.PickUp ?? For.PickUp, For);

    public Place DropOff => Question.DropOff is { } end ? Words.Shown(end, For) : PickUp;

    /// <summary>What it costs; null where no money is kept.</summary>
    public ToldPrice? Price { get; private set; }

    public override string Here => "/diary/book/check";

    public string Back => $"/diary/book?{(Staff ? $"pupil={Pupil}&" : "")}minutes={Minutes}&with={With}&from={Date:uuuu-MM-dd}{(Kind is { } kind ? $"&kind={QueryWord.Of(kind)}" : "")}{(Gearbox is { } gearbox ? $"&gearbox={QueryWord.Of(gearbox)}" : "")}{Places.Query}";

    protected override string Act => "Book";

    protected override IEnumerable<KeyValuePair<string, string>> MoreFields => [new("pupil", $"{Pupil}"), new("minutes", $"{Minutes}"), new("kind", $"{Kind}"), .. Gearbox is { } said ? [new("gearbox", $"{said}")] : Array.Empty<KeyValuePair<string, string>>(), .. Places.Fields];

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (await ReadAsync(cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        if (await SameAsync(cancel) is { } id)
        {
            return Redirect(LessonLinks.Of(id));
        }

        await JudgeAsync(Question, For, cancel);
        foreach (var told in prices)
        {
            Price = await told.TellAsync(new(For.Id, Teacher.Id, For.Gearbox, Kind ?? LessonKind.Standard, During.Start, Minutes!.Value), Viewer, cancel);
        }

        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (await ReadAsync(cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        var (pickUp, dropOff) = Places.For(For.PickUp);
        var booked = await book.RunAsync(Viewer, new(For.Id, Teacher.Id, During.Start, Minutes!.Value, pickUp, dropOff, Kind, Gearbox), cancel);
        // Pressed twice, or sent again: the lesson is there already, and that is what was wanted.
        if ((booked.Ok ? booked.Value.Id : await SameAsync(cancel)) is { } id)
        {
            TempData["Done"] = $"Lesson booked: {School.When(During)}. {Words.OnTheWay("The details are", For)}";
            return Redirect(LessonLinks.Of(id));
        }

        if (booked.Refusal!.Kind == RefusalKind.NotFound)
        {
            return NotFound();
        }

        await RefuseAsync(booked.Refusal, cancel);
        return Page();
    }

    private Task<Guid?> SameAsync(CancellationToken cancel) =>
        lessons.AlreadyBookedAsync(For.Id, Teacher.Id, During.Start, Minutes!.Value, Kind ?? LessonKind.Standard, Viewer, cancel);

    /// <summary>Reads what the address or the form says; an answer when it does not say enough, or speaks of somebody else.</summary>
    private async Task<IActionResult?> ReadAsync(CancellationToken cancel)
    {
        Pupil = Viewer.PupilId ?? Pupil;
        if (!ModelState.IsValid || Pupil is not { } pupilId || With is not { } instructorId || StartText.Read(Start) is not { } start
            || Minutes is < Lesson.ShortestMinutes or > Lesson.LongestMinutes)
        {
            return Redirect("/diary/book");
        }

        if (await pupils.FindAsync(pupilId, Viewer, cancel) is not { } pupil)
        {
            return NotFound();
        }

        For = Viewer.KeepsDiary ? await own.VeilAsync(Viewer, pupil, cancel) : pupil;
        Minutes ??= (await RulesAsync(cancel)).KindOf(Kind ?? LessonKind.Standard).Usual(pupil.LessonMinutes);
        if (!await TakeTimeAsync(instructorId, start, Minutes.Value, cancel))
        {
            return NotFound();
        }

        var errors = new FieldErrors();
        Question = await Places.IntoAsync(new(For.Id, Date, Date, Minutes) { Kind = Kind ?? LessonKind.Standard, Gearbox = Gearbox }, For.PickUp, places, Viewer, errors, cancel);
        // The page before says what is wrong with a place, beside its field.
        return errors.Any ? Redirect(Back) : null;
    }
}
