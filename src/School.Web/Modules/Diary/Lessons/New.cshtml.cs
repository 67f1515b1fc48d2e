using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Pupils;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Staff look for a time for a pupil: the best first, with what each does to the day.</summary>
[Needs(Permission.SeePupils)]
[OfPupil("pupilId", Sight.Everything, Diary = true)]
internal sealed class NewModel(
    SlotFinder slots, WaysOut ways, PlaceFinder places, PupilBook pupils, OwnPupils own, InstructorBook instructors, PictureLoader pictures, SchoolInfo school, FirstSteps steps, Viewer viewer, IClock clock) : PageModel
{
    private const int Shown = 12;
    private const int UsualRangeDays = 14;

    [BindProperty(SupportsGet = true)]
    public Guid? PupilId { get; set; }

    [BindProperty(SupportsGet = true)]
    public Guid? InstructorId { get; set; }

    [BindProperty(SupportsGet = true)]
    public LocalDate? From { get; set; }

    [BindProperty(SupportsGet = true)]
    public LocalDate? To { get; set; }

    /// <summary>The kind that the form showed beside its length: another that is chosen has lengths of its own.</summary>
    [BindProperty(SupportsGet = true)]
    public LessonKind? Beside { get; set; }

    [BindProperty(SupportsGet = true)]
    public int? Minutes { get; set; }

    [BindProperty(SupportsGet = true)]
    public LessonKind? Kind { get; set; }

    /// <summary>In which gearbox, where that is still to be asked of the pupil.</summary>
    [BindProperty(SupportsGet = true)]
    public Gearbox? Gearbox { get; set; }

    public IReadOnlyList<SelectListItem> Kinds { get; private set; } = [];

    /// <summary>Whether it must be said before any time is found: those who might teach them teach in both.</summary>
    public bool AsksGearbox => Needed?.Missing == FirstLessonNeeds.Gearbox;

    /// <summary>What stands in the way of booking for the pupil; null until one is chosen.</summary>
    public StillNeeded? Needed => Found is { } found ? StillNeeded.ToBook(found.Pupil, viewer) : null;

    /// <summary>This page with the gearbox said.</summary>
    public string In(Gearbox gearbox) => $"{Request.Path}{Request.QueryString.Add("gearbox", QueryWord.Of(gearbox))}";

    private string GearboxQuery => Gearbox is { } gearbox ? $"&gearbox={QueryWord.Of(gearbox)}" : "";

    /// <summary>Whether the school gives intensive lessons.</summary>
    public bool MayPlanCourse { get; private set; }

    [BindProperty(SupportsGet = true, Name = LessonPlaces.Prefix)]
    public LessonPlaces Places { get; set; } = new();

    /// <summary>The pupil's own places and the school's, to choose with one press.</summary>
    public IReadOnlyList<KnownPlace> Known { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Pupils { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Teachers { get; private set; } = [];

    public SchoolFacts School { get; private set; } = null!;

    /// <summary>What booking begins at for this pupil.</summary>
    public LessonKind UsualKind { get; private set; }

    /// <summary>Null until a pupil is chosen.</summary>
    public SlotAnswer? Found { get; private set; }

    /// <summary>What would help when nothing was found.</summary>
    public IReadOnlyList<WayOut> Ways { get; private set; } = [];

    /// <summary>What the school still lacks before anybody can book; for whoever can add it.</summary>
    public IReadOnlyList<FirstStep> Lacks { get; private set; } = [];

    /// <summary>Days and places of the search in words.</summary>
    public string Searched { get; private set; } = "";

    public string Teacher => Teachers.FirstOrDefault(t => t.Value == $"{InstructorId}")?.Text ?? "whoever fits best";

    /// <summary>The best of each instructor's day, in the order of the search.</summary>
    public IEnumerable<SlotOffer> Best =>
        Found?.Offers.DistinctBy(offer => (offer.InstructorId, offer.Start.InZone(School.Zone).Date)).Take(Shown) ?? [];

    /// <summary>About where the pupil is picked up, for the map; null where only their name is seen.</summary>
    public Core.Travel.Coordinates? Around { get; private set; }

    public bool MayChooseTeacher => viewer.KeepsDiary;

    public string Name(SlotOffer offer) => Found!.Loaded.Instructors[offer.InstructorId].Name;

    public string CheckAddress(SlotOffer offer) =>
        $"/diary/book/check?pupil={PupilId}&start={Uri.EscapeDataString(StartText.Of(offer.Start))}&minutes={Minutes}&with={offer.InstructorId}{KindWords.Query(Kind, UsualKind)}{GearboxQuery}{Places.Query}";

    public string SearchAddress(SlotQuestion other) =>
        $"/diary/lessons/new?pupilId={PupilId}&instructorId={other.InstructorId}&from={other.From:uuuu-MM-dd}&to={other.To:uuuu-MM-dd}&minutes={other.Minutes}{KindWords.Query(Kind, UsualKind)}{GearboxQuery}{Places.Query}";

    /// <summary>Where any other day and time is typed.</summary>
    public string OwnTimeAddress => $"/diary/book?pupil={PupilId}&minutes={Minutes}&with={InstructorId?.ToString() ?? TimesPage.Anyone}{KindWords.Query(Kind, UsualKind)}{GearboxQuery}{Places.Query}";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        InstructorId = viewer.KeepsDiary ? InstructorId : viewer.InstructorId;
        await pictures.AheadAsync(cancel, Standing.Rules);
        School = await school.GetAsync(cancel);
        var rules = await pictures.RulesAsync(cancel);
        Kinds = KindWords.Choices(rules, viewer);
        MayPlanCourse = rules.KindOf(LessonKind.Intensive).NotFor(viewer) is null;
        Pupils = [.. (await pupils.NamesAsync(viewer, cancel)).Select(p => new SelectListItem(p.Name, p.Id.ToString()))];
        Teachers = [.. (await instructors.ListAsync(alsoRetired: false, cancel)).Select(i => new SelectListItem(i.Choice, i.Id.ToString()))];
        var today = School.Today(clock);
        From ??= today;
        Near(nameof(From), From.Value, today);
        To ??= ModelState.IsValid ? From.Value.PlusDays(UsualRangeDays - 1) : From;
        Near(nameof(To), To.Value, today);
        if (PupilId is not { } pupilId)
        {
            if (Request.Query.ContainsKey(nameof(PupilId)))
            {
                ModelState.AddModelError(nameof(PupilId), "Choose a pupil.");
            }

            return Page();
        }

        if (await pupils.FindAsync(pupilId, viewer, cancel) is not { } pupil)
        {
            return NotFound();
        }

        if (viewer.KeepsDiary)
        {
            pupil = await own.VeilAsync(viewer, pupil, cancel);
        }

        UsualKind = KindWords.UsualFor(pupil, today, rules, viewer);
        Kind ??= UsualKind;
        Minutes = rules.KindOf(Kind.Value).Length(rules, Beside, Minutes, pupil.LessonMinutes);
        Around = pupil.NameOnly ? null : pupil.PickUp.Near();
        Known = await places.KnownAsync(pupilId, viewer, cancel);
        if (ModelState.IsValid)
        {
            var question = new SlotQuestion(pupilId, From.Value, To.Value, Minutes, InstructorId) { Kind = Kind.Value, Gearbox = Gearbox };
            await SearchAsync(question, pupil, cancel);
        }

        return Page();
    }

    private void Near(string field, LocalDate date, LocalDate today)
    {
        if (!ScreenTimes.IsNear(date, today))
        {
            ModelState.AddModelError(field, "That is too far from today. Look at the year.");
        }
    }

    private async Task SearchAsync(SlotQuestion wanted, PupilCard pupil, CancellationToken cancel)
    {
        var errors = new FieldErrors();
        var question = await Places.IntoAsync(wanted, pupil.PickUp, places, viewer, errors, cancel);
        if (errors.ToRefusal() is { } nowhere)
        {
            this.AddRefusal(nowhere);
            return;
        }

        var answer = await slots.FindAsync(question, viewer, cancel);
        if (answer.Ok)
        {
            (Found, Searched) = (answer.Value, $"{string.Join(", ", new[] { Words.Span(question.From, question.To), Words.Route(Words.Shown(question.PickUp ?? pupil.PickUp, pupil), question.DropOff is { } end ? Words.Shown(end, pupil) : null) }.Where(part => part.Length > 0))}");
            Ways = await ways.OfAsync(question, Found, viewer, cancel);
            Lacks = Found.Found == 0 && viewer.May(Permission.ManageSchool) ? await steps.InTheWayAsync(Request, cancel) : [];
        }
        else
        {
            this.AddRefusal(answer.Refusal);
        }
    }
}
