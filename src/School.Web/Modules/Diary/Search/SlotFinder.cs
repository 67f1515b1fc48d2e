using System.Buffers;
using System.Text.Json.Serialization;
using NodaTime;
using School.Core;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Pupils;
using School.Core.Travel;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Search;

/// <summary>What was found, ranked; what stood in the way when nothing was.</summary>
internal sealed record SlotAnswer(
    IReadOnlyList<SlotOffer> Offers, int Found, Instant? Earliest, IReadOnlyList<Obstacle> Obstacles, LoadedPicture Loaded, PupilCard Pupil)
{
    /// <summary>The area that the pick-up lies in, where any instructor says which they serve.</summary>
    public AreaCard? Area { get; init; }

    /// <summary>The area by its name, where the instructor named it; null where it makes no difference.</summary>
    public string? Serves(Guid instructorId) => Area is { } area && Loaded.Instructors[instructorId].Facts.Serves.Contains(area.Id) ? area.Name : null;
}

/// <summary>A rule and how many starts it refused first.</summary>
internal sealed record Obstacle(string Code, string Sentence, int Count)
{
    /// <summary>Where staff put it right; null where there is no such page, or it is not for who asks.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public string? Page { get; init; }
}

/// <summary>A free time as the API and a refusal tell it. What it means for the instructor's day is for staff.</summary>
internal sealed record SlotItem(
    Instant Start, Instant End, int Minutes, Guid InstructorId, Guid CarId, int? ExtraDrivingMinutes, IReadOnlyList<BreakJson> Breaks,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] string? Reason,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] string? ServesArea = null)
{
    public static SlotItem Of(SlotOffer offer, Viewer viewer, SlotAnswer? answer = null) => new(
        offer.Start, offer.End, offer.Plan.Minutes, offer.InstructorId, offer.CarId,
        viewer.IsStaff && offer.Reason.Length > 0 ? offer.ExtraDrivingMinutes : null, BreakJson.Of(offer.Start, offer.Breaks), viewer.IsStaff ? offer.Reason : null,
        answer?.Serves(offer.InstructorId));
}

/// <summary>Asks the rules about free times: for a search, for one start, and for what else there is near a start that is gone.</summary>
internal sealed class SlotFinder(
    SchoolDb db, PictureLoader pictures, PreparedDiaries diaries, SearchMemory memory, PupilBook pupils, AreaBook areas, SchoolInfo school, ReadOnce once, IClock clock)
{
    public const int LongestRangeDays = 60;
    public const int MostOffers = 2000;
    public const int Alternatives = 3;

    private const int AlternativesDaysBefore = 7;
    private const int AlternativesDaysAfter = 14;

    public async Task<Outcome<SlotAnswer>> FindAsync(SlotQuestion question, Viewer viewer, CancellationToken cancel)
    {
        var days = Period.DaysBetween(question.From, question.To) + 1;
        var errors = new FieldErrors()
            .WrongYear(nameof(question.From), question.From)
            .WrongYear(nameof(question.To), question.To)
            .When(days < 1, nameof(question.To), "The last date must not be before the first.")
            .When(days > LongestRangeDays, nameof(question.To), $"Ask for at most {LongestRangeDays} days at a time.")
            .When(question.Minutes is < Lesson.ShortestMinutes or > Lesson.LongestMinutes, nameof(question.Minutes), LessonLength);
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var together = new ReadTogether(db);
        var remembered = diaries.Ask(together, question.From, question.To, question.InstructorId);
        if (remembered is not null)
        {
            var found = pupils.Find(together, question.PupilId, viewer);
            var lessons = pictures.Lessons(together, question.PupilId, question.From, question.To, remembered.Prepared.Standing.Ground.Zone);
            await together.RunAsync(cancel);
            if (found() is not { } card)
            {
                return Refusal.NotFound("pupil");
            }

            if (remembered.Stands())
            {
                return await SearchAsync(remembered.Prepared, question, card, card.Facts(lessons()), viewer, cancel);
            }
        }

        if (await pupils.FindAsync(question.PupilId, viewer, cancel) is not { } pupil)
        {
            return Refusal.NotFound("pupil");
        }

        if (await diaries.ReadAsync(question.From, question.To, question.InstructorId, PlacesOf(question, pupil), cancel, changed: remembered is not null) is not { } prepared)
        {
            return Refusal.NotFound("instructor");
        }

        var facts = (await pictures.PupilsAsync([pupil], question.From, question.To, prepared.Standing.Ground.Zone, cancel))[pupil.Id];
        return await SearchAsync(prepared, question, pupil, facts, viewer, cancel);
    }

    private async Task<Outcome<SlotAnswer>> SearchAsync(
        PreparedSchool prepared, SlotQuestion question, PupilCard pupil, PupilFacts facts, Viewer viewer, CancellationToken cancel)
    {
        if (NotGiven(question, prepared.Standing.Ground.Rules, viewer) is { } refusal)
        {
            return refusal;
        }

        var loaded = prepared.Standing.Loaded;
        pupil = Settled(pupil, question, question.InstructorId is { } one ? loaded.Instructors.Where(each => each.Key == one).Select(each => each.Value) : loaded.Instructors.Values.Where(each => each.RetiredOn is null), viewer);
        var area = await AreaOfAsync(question, loaded, pupil, cancel);
        var wish = WishOf(question, loaded, pupil, facts, viewer, area);
        var answer = memory.Search(workspace => Search(workspace, prepared, wish, question.Most, pupil, viewer.Reader, KnowsWhere(question, pupil))) with { Area = area };
        return answer.Obstacles.Count == 0 ? answer : answer with { Obstacles = [.. answer.Obstacles.Select(one => one with { Page = CureOf(one.Code, question.InstructorId, pupil, viewer, wish.AsksFirst) })] };
    }

    /// <summary>The page where what stands in the way is put right, for whoever may open it.</summary>
    private static string? CureOf(string code, Guid? instructorId, PupilCard pupil, Viewer viewer, bool asksFirst) =>
        code == SlotRule.OutsideServedAreas.Code() && instructorId is { } id && (viewer.KeepsDiary || viewer.InstructorId == id) ? $"/people/instructors/{id}/areas"
        : code == SlotRule.DetailsMissing.Code() && viewer.IsStaff ? StillNeeded.Of(pupil, asksFirst).Page
        : null;

    /// <summary>The pupil with the gearbox of the lesson: staff settle it by booking, a pupil who books for themselves is asked first.</summary>
    private static PupilCard Settled(PupilCard pupil, SlotQuestion question, IEnumerable<InstructorCard> teachers, Viewer viewer) =>
        viewer.Towards(pupil.Id).IsStaff ? LearnsIn.Settled(pupil, question.Gearbox, teachers.Select(each => each.Facts.Teaches)) : pupil;

    /// <summary>Whether both ends are places that have been found: of the middle of a district no drive is told.</summary>
    private static bool KnowsWhere(SlotQuestion question, PupilCard pupil) =>
        (question.PickUp ?? pupil.PickUp).IsFound && (question.DropOff ?? question.PickUp ?? pupil.PickUp).IsFound;

    private SlotAnswer Search(SlotWorkspace workspace, PreparedSchool prepared, LessonWish wish, int most, PupilCard pupil, Reader reader, bool knowsWhere)
    {
        var (standing, days) = prepared;
        var room = Math.Min(most, days.Sum(day => day.MostStarts));
        var best = ArrayPool<SlotStart>.Shared.Rent(room);
        try
        {
            var tally = workspace.Search(standing.Ground, clock.GetCurrentInstant(), wish, days, best.AsSpan(0, room));
            var offers = new List<SlotOffer>(tally.Offered);
            for (var i = 0; i < tally.Offered; i++)
            {
                // What a time means for the instructor's day is told to staff alone, and it is most of what making an offer costs.
                offers.Add(best[i].Offer(wish, days, standing.Ground.Zone, withReason: reader == Reader.Staff && knowsWhere));
            }

            var obstacles = tally.Found > 0 ? [] : workspace.RefusalsByRule().OrderByDescending(r => r.Value).ThenBy(r => r.Key)
                .Select(r => new Obstacle(r.Key.Code(), ObstacleWords.Of(r.Key).For(reader), r.Value));
            return new SlotAnswer(offers, tally.Found, tally.Earliest, [.. obstacles], standing.Loaded, pupil);
        }
        finally
        {
            ArrayPool<SlotStart>.Shared.Return(best);
        }
    }

    /// <summary>The verdict on one start. Right only under the locks that <see cref="LessonLocks"/> takes.</summary>
    public async Task<Outcome<SlotOffer>> CheckAsync(
        SlotQuestion question, PupilCard pupil, Guid instructorId, Instant start, Viewer viewer, CancellationToken cancel)
    {
        var verdicts = await CheckEachAsync(question, pupil, instructorId, [start], viewer, cancel);
        return verdicts.Ok ? verdicts.Value[0] : verdicts.Refusal;
    }

    /// <summary>The verdicts on some starts between the dates asked for, each as if the others were not booked.</summary>
    public async Task<Outcome<List<Outcome<SlotOffer>>>> CheckEachAsync(
        SlotQuestion question, PupilCard pupil, Guid instructorId, IReadOnlyList<Instant> starts, Viewer viewer, CancellationToken cancel)
    {
        if (pupil.RetiredOn is not null)
        {
            return PupilRefusals.Left;
        }

        var read = once.Has<JudgedDay>(JudgedDay.Name, out var day) && day.Answers(question, instructorId) ? day : null;
        var loaded = read?.Loaded ?? await pictures.LoadAsync(question.From, question.To, [instructorId], cancel, PlacesOf(question, pupil));
        if (!loaded.Instructors.TryGetValue(instructorId, out var instructor))
        {
            return Refusal.NotFound("instructor");
        }

        if (instructor.RetiredOn is not null)
        {
            return SlotRefusals.InstructorLeft;
        }

        if (NotGiven(question, loaded.Picture.Rules, viewer) is { } notGiven)
        {
            return notGiven;
        }

        pupil = Settled(pupil, question, [instructor], viewer);
        var facts = read?.Facts ?? (await pictures.PupilsAsync([pupil], question.From, question.To, cancel))[pupil.Id];
        var wish = WishOf(question, loaded, pupil, facts, viewer, await AreaOfAsync(question, loaded, pupil, cancel));
        var knowsWhere = KnowsWhere(question, pupil);
        var picture = question.LeavingLessonId is { } leaving ? loaded.Picture.Without(leaving) : loaded.Picture;
        return starts.Select(start => Verdict(loaded, picture, wish, pupil, instructorId, start, knowsWhere, viewer)).ToList();
    }

    /// <summary>The verdicts on some moves to one date, each as if none of the others were made; what all of them need is read at once.</summary>
    public async Task<IReadOnlyList<Outcome<SlotOffer>>> CheckMovesAsync(LocalDate date, IReadOnlyList<TriedMove> moves, Viewer viewer, CancellationToken cancel)
    {
        var loaded = await pictures.LoadAsync(
            date, date, [.. moves.Select(move => move.InstructorId).Distinct()], cancel, [.. moves.SelectMany(move => PlacesOf(move.Question, move.Pupil)).Distinct()]);
        var facts = await pictures.PupilsAsync([.. moves.Select(move => move.Pupil).DistinctBy(pupil => pupil.Id)], date, date, cancel);
        var verdicts = new List<Outcome<SlotOffer>>(moves.Count);
        foreach (var (question, pupil, instructorId, start) in moves)
        {
            if (pupil.RetiredOn is not null || loaded.Instructors[instructorId].RetiredOn is not null)
            {
                verdicts.Add(pupil.RetiredOn is not null ? PupilRefusals.Left : SlotRefusals.InstructorLeft);
                continue;
            }

            var wish = WishOf(question, loaded, pupil, facts[pupil.Id], viewer, await AreaOfAsync(question, loaded, pupil, cancel));
            var picture = question.LeavingLessonId is { } leaving ? loaded.Picture.Without(leaving) : loaded.Picture;
            verdicts.Add(Verdict(loaded, picture, wish, pupil, instructorId, start, KnowsWhere(question, pupil), viewer));
        }

        return verdicts;
    }

    private static Outcome<SlotOffer> Verdict(LoadedPicture loaded, DiaryPicture picture, LessonWish wish, PupilCard pupil, Guid instructorId, Instant start, bool knowsWhere, Viewer viewer)
    {
        var verdict = SlotSearch.Check(picture, wish, instructorId, start, loaded.Travel);
        return verdict switch
        {
            { Offer: { } offer } => knowsWhere ? offer : offer with { Reason = "" },
            { Refusal: { Rule: SlotRule.OutsideServedAreas } outside } when CureOf(outside.Code, instructorId, pupil, viewer, wish.AsksFirst) is { } page => SlotRefusals.Of(outside).CuredOn(page),
            { Refusal.Rule: SlotRule.NoTimeToGetThere } when !knowsWhere => SlotRefusals.TooFarFromTheDistrict,

            // Whoever else is busy then: what a pupil can do something about is their own other lesson.
            { Refusal.Rule: SlotRule.InstructorBusy or SlotRule.PupilBusy } when HasLesson(wish, start, start + Duration.FromMinutes(LessonPlan.Of(wish.Minutes, loaded.Picture.Rules).Elapsed)) =>
                Refusal.Conflict(SlotRule.PupilBusy.Code(), new("The pupil already has a lesson then. Choose another time.", "You already have a lesson then. Choose another time.")),
            _ => SlotRefusals.Of(verdict.Refusal!, pupil, wish.AsksFirst),
        };
    }

    private static bool HasLesson(LessonWish wish, Instant from, Instant to) =>
        wish.Pupil.Lessons.Any(l => l.Id != wish.MovingLessonId && l.During.Start < to && l.During.End > from);

    /// <summary>Adds the nearest free times to a refusal that is about the time.</summary>
    public async Task<Refusal> WithAlternativesAsync(Refusal refusal, SlotQuestion question, Guid instructorId, Instant start, Viewer viewer, CancellationToken cancel)
    {
        if (!SlotRefusals.IsAboutTime(refusal))
        {
            return refusal;
        }

        var date = start.InZone((await school.GetAsync(cancel)).Zone).Date;
        var near = question with { From = date.PlusDays(-AlternativesDaysBefore), To = date.PlusDays(AlternativesDaysAfter), InstructorId = viewer.Towards(question.PupilId).InstructorId };
        var found = await FindAsync(near, viewer, cancel);
        var offers = found.Ok ? found.Value.Offers : [];
        var nearest = offers
            .GroupBy(o => o.Start)
            .OrderBy(g => g.Key > start ? g.Key - start : start - g.Key).ThenBy(g => g.Key)
            .Select(g => g.FirstOrDefault(o => o.InstructorId == instructorId) ?? g.First())
            .Take(Alternatives)
            .Select(o => SlotItem.Of(o, viewer, found.Value));
        return refusal with { More = new Dictionary<string, object?>(refusal.More) { [SlotRefusals.AlternativesMember] = nearest.ToList() } };
    }

    public const string LessonLength = "A lesson lasts from 15 to 480 minutes.";

    private static LessonWish WishOf(SlotQuestion question, LoadedPicture loaded, PupilCard pupil, PupilFacts facts, Viewer viewer, AreaCard? area) => new(
        facts with { Gearbox = pupil.Gearbox, Missing = pupil.Missing },
        question.Minutes ?? loaded.Picture.Rules.KindOf(question.Kind).Usual(pupil.LessonMinutes),
        PlacesOf(question, pupil)[0],
        PlacesOf(question, pupil)[1],
        question.From,
        question.To,
        question.MovingLessonId,
        NoticeApplies: !viewer.Towards(pupil.Id).IsStaff,
        AnyStart: viewer.Towards(pupil.Id).IsStaff,
        question.Kind)
    { PickUpAreaId = area?.Id, OwnCarId = question.OwnCarId };

    /// <summary>The area that the pick-up lies in, where instructors say which they serve.</summary>
    private async ValueTask<AreaCard?> AreaOfAsync(SlotQuestion question, LoadedPicture loaded, PupilCard pupil, CancellationToken cancel)
    {
        var pickUp = question.PickUp ?? pupil.PickUp;
        return !loaded.Areas.Any ? null : (await areas.WithAsync(loaded.Areas, [pickUp], cancel)).CardOf(pickUp);
    }

    /// <summary>Why nobody like the viewer books such a lesson. One that is moved has its kind already, and keeps it.</summary>
    private static Refusal? NotGiven(SlotQuestion question, DiaryRules rules, Viewer viewer) =>
        question.MovingLessonId is null ? rules.KindOf(question.Kind).NotFor(viewer.Towards(question.PupilId)) : null;

    /// <summary>Pick-up and drop-off.</summary>
    public static Coordinates[] PlacesOf(SlotQuestion question, PupilCard pupil) =>
        [(question.PickUp ?? pupil.PickUp).At(), (question.DropOff ?? question.PickUp ?? pupil.PickUp).At()];
}
