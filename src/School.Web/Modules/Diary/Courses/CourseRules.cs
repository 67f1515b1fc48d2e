using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Courses;
using School.Core.Diary.Slots;
using School.Core.Pupils;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Courses;

/// <summary>A line of a course with what its proposal line does not hold. Driving is null where an end is a place to be found: it was reckoned with the middle of a district.</summary>
internal sealed record CourseDay(Guid Id, LocalDate Date, Instant End, int Minutes, IReadOnlyList<LessonBreak> Breaks, int? ExtraDrivingMinutes);

/// <summary>Something about the pupil's papers to be settled before the course.</summary>
internal sealed record CourseNote(string Code, string Sentence);

/// <summary>Other lessons of the pupil that take room, by start, and how many minutes of teaching would fit without them.</summary>
internal sealed record OwnLessons(IReadOnlyList<Instant> Starts, int WithoutMinutes);

/// <summary>A public holiday on which there is no lesson.</summary>
internal sealed record CourseHoliday(LocalDate Date, string Name);

/// <summary>What a course tells beside its lines.</summary>
internal sealed record CourseMore(IReadOnlyList<CourseDay> Days, IReadOnlyList<CourseNote> Notes, IReadOnlyList<CourseHoliday> LeftOut);

/// <summary>An intensive course as a proposal: a lesson on each of some days, every one by the checks of a single booking.</summary>
internal sealed class CourseRules(
    SchoolDb db, BookLesson book, CoursePapers papers, PictureLoader pictures, PupilTimes times, DiaryVersions versions, LessonLocks locks, CarPark cars, AreaBook areas, SchoolInfo school,
    IClock clock) : ProposalRules
{
    /// <summary>Member of the problem document that tells how many minutes of teaching fit.</summary>
    public const string FitsMember = "fitsMinutes";

    /// <summary>Member that tells what stands in the way.</summary>
    public const string ReasonsMember = "reasons";

    /// <summary>Member that tells with which changes all of it would fit.</summary>
    public const string CuresMember = "cures";

    private static readonly Refusal NotThen = Refusal.Conflict(
        "pupil_not_available", "The pupil cannot come at that time any more, as it is recorded. Plan the course again.");

    public override ProposalKind Kind => ProposalKind.Course;

    public static CourseRequest AskOf(Proposal proposal) => ProposalJson.Read<CourseRequest>(proposal.Ask);

    public static CourseMore MoreOf(Proposal proposal) => ProposalJson.Read<CourseMore>(proposal.More!);

    public override async Task<Outcome<Found>> WorkOutAsync(Viewer viewer, Proposal proposal, CancellationToken cancel)
    {
        var ask = AskOf(proposal);
        var part = await PartAsync(ask, cancel);
        var seen = await versions.MarkAsync(part, cancel);
        var read = await ReadAsync(viewer, ask, cancel);
        if (!read.Ok)
        {
            return read.Refusal;
        }

        var asked = read.Value;
        if (CannotBe(ask, await pictures.RulesAsync(cancel)) is { } impossible)
        {
            return impossible;
        }

        var looked = await papers.LookAsync(asked.Pupil, ask.From, ask.To, cancel);
        if (!looked.Ok)
        {
            return looked.Refusal;
        }

        var holidays = ask.OnHolidays ? [] : await HolidaysAsync(ask, cancel);
        var (plan, keptTimes, own) = await PlanAsync(ask, asked, [.. holidays.Select(holiday => holiday.Date)], cancel);
        if (plan.Minutes < ask.Minutes)
        {
            var cures = await CuresAsync(ask, asked, cancel);
            return NoRoom(ask, plan, CourseWords.Fits(ask, plan, asked), CourseWords.Reasons(ask, plan, asked, holidays, keptTimes, own is null ? null : CourseWords.OfOwn(own, await school.GetAsync(cancel))), cures);
        }

        var days = plan.Lessons.Select(lesson => (Line: Line(lesson.Offer), lesson)).ToList();
        var knowsWhere = asked.PickUp.IsFound && asked.DropOff.IsFound;
        return new Found(new(
            [.. days.Select(day => day.Line)], part, seen,
            new CourseMore([.. days.Select(day => Day(day.Line.Id, day.lesson, knowsWhere))], looked.Value, holidays)));
    }

    public override async Task LockAsync(Proposal proposal, IReadOnlyList<ProposalLine> lines, IEnumerable<string> others, CancellationToken cancel)
    {
        var ask = AskOf(proposal);
        var zone = (await school.GetAsync(cancel)).Zone;
        var days = lines.Select(line => new DiaryDay(ask.InstructorId, line.Start!.Value.InZone(zone).Date)).ToList();
        await locks.TakeAsync([ask.PupilId], days, [], cancel, [.. others, LessonLocks.Of(LessonKind.Intensive)]);
    }

    public override async Task<Refusal?> CarryOutAsync(Viewer viewer, Proposal proposal, IReadOnlyList<ProposalLine> lines, ChangesMade made, CancellationToken cancel)
    {
        var read = await ReadAsync(viewer, AskOf(proposal), cancel);
        if (!read.Ok)
        {
            return read.Refusal;
        }

        var facts = await school.GetAsync(cancel);
        var days = MoreOf(proposal).Days.ToDictionary(day => day.Id);
        var available = (await times.ReadAsync([read.Value.Pupil.Id], cancel))[read.Value.Pupil.Id];
        List<ProposalLine> done = [];
        foreach (var line in lines.OrderBy(line => line.Start))
        {
            var (start, day) = (line.Start!.Value, days[line.Id]);
            var comes = available.Count == 0 || AvailableTime.Holds(available, new(start, day.End), facts.Zone);
            var added = comes ? await book.AddAsync(read.Value with { Minutes = day.Minutes }, start, null, viewer, cancel) : NotThen;
            if (!added.Ok)
            {
                return added.Refusal with { Telling = added.Refusal.Telling.Map(why => $"Nothing was booked. {facts.Moment(start)}: {why}") };
            }

            made.Booked(added.Value);
            done.Add(line with { LessonIds = [added.Value.Id] });
            // The next one is checked against a diary that holds this one: two may fall into one week.
            await db.SaveChangesAsync(cancel);
        }

        proposal.KeepCarriedOut(done);
        return null;
    }

    private static ProposalLine Line(SlotOffer offer) => new(RowId.New(), ProposalAct.Book, [], offer.InstructorId, offer.CarId, offer.Start, null, []);

    private static CourseDay Day(Guid id, CourseLesson lesson, bool knowsWhere) =>
        new(id, lesson.Date, lesson.Offer.End, lesson.Offer.Plan.Minutes, lesson.Offer.Breaks, knowsWhere ? lesson.Offer.ExtraDrivingMinutes : null);

    private async Task<Outcome<BookingAsked>> ReadAsync(Viewer viewer, CourseRequest ask, CancellationToken cancel)
    {
        var read = await book.ReadAsync(ask.ToLesson(clock.GetCurrentInstant().MinuteOf()), viewer, cancel);
        return !read.Ok ? read
            : (await pictures.RulesAsync(cancel)).KindOf(LessonKind.Intensive).NotFor(viewer) is { } notGiven ? notGiven
            : read.Value.Pupil.RetiredOn is not null ? PupilRefusals.Left
            : read.Value.Instructor.RetiredOn is not null ? SlotRefusals.InstructorLeft
            : read;
    }

    private async Task<(CoursePlan Plan, bool KeptTimes, OwnLessons? Own)> PlanAsync(CourseRequest ask, BookingAsked asked, IReadOnlyList<LocalDate> leftOut, CancellationToken cancel)
    {
        var (loaded, wish) = await WishAsync(ask, asked, leftOut, cancel);
        var plan = CourseSearch.Plan(loaded.Picture, wish, ask.InstructorId, loaded.Travel);
        return (plan, wish.Available.Count > 0, plan.Minutes < ask.Minutes ? OwnInTheWay(loaded, wish, ask, plan) : null);
    }

    private async Task<(LoadedPicture Loaded, CourseWish Wish)> WishAsync(CourseRequest ask, BookingAsked asked, IReadOnlyList<LocalDate> leftOut, CancellationToken cancel)
    {
        var loaded = await pictures.LoadAsync(ask.From, ask.To, [ask.InstructorId], cancel, [asked.PickUp.At(), asked.DropOff.At()]);
        var pupil = (await pictures.PupilsAsync([asked.Pupil], ask.From, ask.To, cancel))[asked.Pupil.Id];
        var available = (await times.ReadAsync([asked.Pupil.Id], cancel))[asked.Pupil.Id];
        var lesson = new LessonWish(
            pupil, CourseWish.ShortestMinutes, asked.PickUp.At(), asked.DropOff.At(), ask.From, ask.To, null, NoticeApplies: false, AnyStart: true, LessonKind.Intensive)
        { PickUpAreaId = (await areas.WithAsync(loaded.Areas, [asked.PickUp], cancel)).Of(asked.PickUp) };
        return (loaded, new CourseWish(lesson, ask.Minutes, ask.MostMinutesADay, available, leftOut));
    }

    /// <summary>What would help, looked for until the booking horizon and over as many days as a course may take.</summary>
    private async Task<IReadOnlyList<CourseCure>> CuresAsync(CourseRequest ask, BookingAsked asked, CancellationToken cancel)
    {
        var horizon = (await school.GetAsync(cancel)).Today(clock).PlusDays((await pictures.RulesAsync(cancel)).HorizonDays);
        var whole = ask with { To = LocalDate.Max(ask.To, LocalDate.Min(horizon, ask.From.PlusDays(CourseRequest.LongestDays - 1))) };
        var holidays = ask.OnHolidays ? [] : await HolidaysAsync(whole, cancel);
        var (loaded, wish) = await WishAsync(whole, asked, [.. holidays.Select(holiday => holiday.Date)], cancel);
        return CourseCures.Of(loaded, wish, ask, whole.To);
    }

    /// <summary>The pupil's own other lessons, where more would fit without them; else null.</summary>
    private static OwnLessons? OwnInTheWay(LoadedPicture loaded, CourseWish wish, CourseRequest ask, CoursePlan plan)
    {
        var own = wish.Lesson.Pupil.Lessons.Where(l => !l.IsTest).ToList();
        if (own.Count == 0)
        {
            return null;
        }

        var ids = own.Select(l => l.Id).ToHashSet();
        var picture = loaded.Picture with
        {
            Instructors = [.. loaded.Picture.Instructors.Select(diary => diary with { Entries = [.. diary.Entries.Where(entry => !ids.Contains(entry.Id))] })],
            CarBusy = [.. loaded.Picture.CarBusy.Where(busy => !ids.Contains(busy.LessonId))],
        };
        var alone = wish with { Lesson = wish.Lesson with { Pupil = wish.Lesson.Pupil with { Lessons = [.. wish.Lesson.Pupil.Lessons.Where(l => l.IsTest)] } } };
        var without = CourseSearch.Plan(picture, alone, ask.InstructorId, loaded.Travel);
        return without.Minutes > plan.Minutes ? new([.. own.Select(l => l.During.Start).Order()], without.Minutes) : null;
    }

    /// <summary>Why no diary at all would have room for it.</summary>
    private static Refusal? CannotBe(CourseRequest ask, DiaryRules rules)
    {
        var lengths = CourseWish.LengthsOf(rules, LessonKind.Intensive, ask.MostMinutesADay);
        if (lengths.Count == 0)
        {
            return Refusal.Rule(SlotRule.LengthNotOffered.Code(), CourseWords.TooFewADay(ask));
        }

        var (below, above) = CourseSums.Nearest(lengths, ask.Minutes);
        var possible = new[] { below, above }.Where(minutes => minutes is >= CourseRequest.Fewest and <= CourseRequest.Most).ToList();
        return below == ask.Minutes ? null : Refusal.Rule("course_hours_impossible", CourseWords.NoSum(ask, rules.KindOf(LessonKind.Intensive).Minutes, possible)) with
        {
            More = new Dictionary<string, object?> { [FitsMember] = possible.Count > 0 ? possible.MinBy(minutes => Math.Abs(minutes - ask.Minutes)) : 0 },
        };
    }

    private static Refusal NoRoom(CourseRequest ask, CoursePlan plan, string fits, IReadOnlyList<CourseReason> reasons, IReadOnlyList<CourseCure> cures)
    {
        // What holds on every day is told by itself.
        // Hours outside work, and those of today that are over, are in the way of everybody.
        var inTheWay = plan.InTheWay.Keys.Where(rule => rule is not (SlotRule.OutsideWorkingHours or SlotRule.InThePast)).ToList();
        if (plan.Lessons.Count == 0 && inTheWay is [> SlotRule.BeyondHorizon and < SlotRule.OutsideWorkingHours and var rule])
        {
            var why = ObstacleWords.Of(rule);
            return Refusal.Rule(rule.Code(), cures.Count == 0 ? why : why.Map(sentence => $"{sentence} {CourseWords.Help(cures)}")) with
            {
                More = new Dictionary<string, object?> { [CuresMember] = cures },
            };
        }

        return Refusal.Rule("course_no_room", string.Join(' ', [fits, .. reasons.Select(reason => reason.Sentence), CourseWords.Help(cures)])) with
        {
            More = new Dictionary<string, object?> { [FitsMember] = plan.Minutes, [ReasonsMember] = reasons, [CuresMember] = cures },
        };
    }

    private async Task<IReadOnlyList<CourseHoliday>> HolidaysAsync(CourseRequest ask, CancellationToken cancel)
    {
        var nation = (await school.GetAsync(cancel)).Nation;
        return await db.Set<Holiday>().AsNoTracking().Where(h => h.Nation == nation && h.Date >= ask.From && h.Date <= ask.To)
            .OrderBy(h => h.Date).Select(h => new CourseHoliday(h.Date, h.Name)).ToListAsync(cancel);
    }

    /// <summary>Its days, of the instructor and the cars that they hold; and the pupil, on their test days and in all that is kept of them.</summary>
    private async Task<DiaryPart> PartAsync(CourseRequest ask, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var held = (await cars.ReadAsync(zone, alsoRetired: false, cancel)).Holds.Where(hold => hold.InstructorId == ask.InstructorId).Select(hold => hold.CarId);
        return DiaryPart.Between(ask.From, ask.To) with { Subjects = [.. held.Append(ask.InstructorId).Append(ask.PupilId).Distinct().Order()], Pupils = [ask.PupilId] };
    }
}
