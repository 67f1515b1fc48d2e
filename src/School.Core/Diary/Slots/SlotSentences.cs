using NodaTime;
using NodaTime.Text;
using School.Core.Cars;
using School.Core.Pupils;

namespace School.Core.Diary.Slots;

/// <summary>The words for judgements: what stands in the way and what to do about it.</summary>
internal static class SlotSentences
{
    private static readonly LocalDatePattern Dates = LocalDatePattern.CreateWithInvariantCulture("d MMMM uuuu");
    private static readonly LocalTimePattern Times = LocalTimePattern.CreateWithInvariantCulture("HH:mm");

    public static string Reason(int extraDriving, int unusableGap, Instant? fills, DateTimeZone zone)
    {
        var driving = extraDriving == 0 ? "No extra driving" : $"{Minutes(extraDriving)} more driving";
        return fills is { } next ? $"{driving}; fills the gap before {Time(next, zone)}."
            : unusableGap == 0 ? $"{driving}."
            : $"{driving}; leaves {Minutes(unusableGap)} that no lesson fits.";
    }

    public static Telling For(
        SlotRule rule, Judgement judgement, DiaryPicture picture, LessonWish wish, InstructorDiary diary, DayTimeline day, Instant start)
    {
        var rules = picture.Rules;
        return rule switch
        {
            SlotRule.InThePast => "That time has passed. Choose a later one.",
            SlotRule.OffTheGrid => $"Lessons start every {rules.GridMinutes} minutes, counted from midnight. Choose a start such as {OnGrid(picture, start)}.",
            SlotRule.LengthNotOffered => wish.AnyStart || LessonPlan.Of(wish.Minutes, rules).Elapsed > LessonPlan.LongestElapsed
                ? wish.Minutes > 0
                    ? $"With the breaks that it needs a lesson lasts at most {LessonPlan.LongestElapsed / 60} hours. Choose a shorter one."
                    : "A lesson must last at least a minute. Choose a longer one."
                : $"Lessons last {Or(rules.LengthsOf(wish.Kind).Where(m => LessonPlan.Of(m, rules).Elapsed <= LessonPlan.LongestElapsed).Order().Select(m => $"{m}"))} minutes. Choose one of these lengths.",
            SlotRule.InsideNotice => $"Lessons are booked at least {Hours(rules.NoticeToBookHours)} ahead. Choose a later time, or ask the office.",
            SlotRule.BeyondHorizon => $"Lessons can be booked up to {Date(picture.Now.InZone(picture.Zone).Date.PlusDays(rules.HorizonDays))}. Choose an earlier date.",
            SlotRule.DetailsMissing or SlotRule.PupilTooYoung or SlotRule.NoProvisionalLicence or SlotRule.LicenceEnded or SlotRule.ForeignLicenceEnded
                or SlotRule.Disqualified or SlotRule.EyesightFailed => ForPupil(rule, wish.Pupil, rules, day.Date, picture.Now.InZone(picture.Zone).Date, wish.AsksFirst),
            SlotRule.WrongGearbox => WrongGearbox(wish.Pupil.Gearbox),
            SlotRule.InstructorNotRegistered => NotRegistered(diary.Instructor, day.Date),
            SlotRule.OutsideServedAreas => OutsideServedAreas,
            SlotRule.MotorwayNeedsAdi => NeedsAdi,
            SlotRule.NoTestThatDay => NoTest,
            SlotRule.MotorwayNeedsDualControls => NeedsDualControls,
            SlotRule.OutsideWorkingHours => OutsideHours(day, picture.Zone),
            SlotRule.TimeOff => "The instructor is off at that time. Choose another time or another instructor.",
            SlotRule.InstructorBusy => "The instructor already has something at that time. Choose another time or another instructor.",
            SlotRule.PupilBusy => new("The pupil already has a lesson at that time. Choose another time.", "You already have a lesson at that time. Choose another time."),
            SlotRule.WeeklyLimit => Weekly(judgement.NeedMinutes, judgement.HaveMinutes),
            SlotRule.DailyLimit => Daily(judgement.NeedMinutes, judgement.HaveMinutes),
            SlotRule.NoTimeToGetThere => Drive(judgement.NeedMinutes, judgement.HaveMinutes),
            SlotRule.RestNeeded => Rest(rules),
            SlotRule.NoSuitableCar => $"The instructor has no {CarWords(wish)} that may be used at that time. Choose another time or another instructor.",
            SlotRule.CarBusy => $"Every {CarWords(wish)} of this instructor is taken at that time. Choose another time or another instructor.",
        };
    }

    public static readonly Telling OutsideServedAreas = new(
        "The instructor does not serve the area of the pick-up. Choose another instructor or another pick-up, or change which areas the instructor serves.",
        "This instructor does not come to the area of your pick-up. Choose another instructor or another pick-up.");

    public static readonly string NeedsAdi = $"{MotorwayRule.AdiSentence} Choose another instructor.";

    public static readonly string NeedsDualControls = $"{MotorwayRule.DualControlsSentence} Choose a car that has them, or another instructor.";

    public static readonly Telling NoTest = new(
        "The pupil has no driving test on that day. Choose the day of the test; to have another kind of lesson instead, cancel this one and book that.",
        "You have no driving test on that day. Choose the day of your test, or ask your instructor for another kind of lesson.");

    public static Telling ForPupil(SlotRule rule, PupilFacts pupil, DiaryRules rules, LocalDate date, LocalDate today, bool asksFirst) => rule switch
    {
        SlotRule.PupilTooYoung => Aged(LearnerRules.MinimumAge(pupil, rules), Date(LearnerRules.OldEnoughFrom(pupil, rules))),
        SlotRule.DetailsMissing => LearnerRules.Missing(pupil, asksFirst).Telling(),
        SlotRule.NoProvisionalLicence or SlotRule.LicenceEnded or SlotRule.ForeignLicenceEnded or SlotRule.Disqualified =>
            LicenceProblem.Of(pupil.Licence, Licence.On(pupil.Licence, date, pupil.Gearbox, pupil.BirthDate), pupil.BirthDate, today)!.Telling,
        SlotRule.EyesightFailed => Eligibility.EyesightFailed(pupil.EyesightFailedOn!.Value),
        SlotRule.InThePast or SlotRule.OffTheGrid or SlotRule.LengthNotOffered or SlotRule.InsideNotice or SlotRule.BeyondHorizon
            or SlotRule.WrongGearbox or SlotRule.InstructorNotRegistered or SlotRule.OutsideWorkingHours or SlotRule.TimeOff
            or SlotRule.InstructorBusy or SlotRule.PupilBusy or SlotRule.WeeklyLimit or SlotRule.DailyLimit
            or SlotRule.NoTimeToGetThere or SlotRule.RestNeeded or SlotRule.NoSuitableCar or SlotRule.CarBusy
            or SlotRule.OutsideServedAreas or SlotRule.MotorwayNeedsAdi or SlotRule.NoTestThatDay or SlotRule.MotorwayNeedsDualControls
            => throw new ArgumentOutOfRangeException(nameof(rule), rule, "This rule is not about the pupil alone."),
    };

    public static string WrongGearbox(Gearbox gearbox) =>
        $"The instructor does not teach in {Name(gearbox)} cars. Choose another instructor.";

    public static string NotRegistered(InstructorFacts instructor, LocalDate date)
    {
        if (instructor.RegisteredTo == InstructorFacts.NotAsked)
        {
            return "Not all is known of the instructor that a first lesson needs. Enter it on the instructor's page, or choose another instructor.";
        }

        var paper = instructor.Kind == RegistrationKind.Trainee ? "trainee licence" : "registration";
        var when = date > instructor.RegisteredTo ? $"ends on {Date(instructor.RegisteredTo)}" : $"begins on {Date(instructor.RegisteredFrom!.Value)}";
        return $"The instructor's {paper} {when}. Choose another date or another instructor.";
    }

    public static string OutsideHours(DayTimeline day, DateTimeZone zone)
    {
        if (day.Spans.Count == 0)
        {
            return "The instructor does not work on that day. Choose another day or another instructor.";
        }

        var spans = day.Spans.Select(span => $"{Time(span.Start, zone)} to {Time(span.End, zone)}");
        return $"The instructor works {string.Join(" and ", spans)} on that day. Choose a time at which the whole lesson fits.";
    }

    public static Telling Weekly(int need, int limit) => new(InWeek("the pupil's", need, limit), InWeek("your", need, limit));

    private static string InWeek(string whose, int need, int limit) =>
        $"That would make {Minutes(need)} in {whose} week, and the limit is {limit}. Choose another week or a shorter lesson.";

    private static Telling Aged(int age, string from) =>
        new($"The pupil is under {age} on that date. Choose {from} or later.", $"You are under {age} on that date. Choose {from} or later.");

    public static string Daily(int need, int limit) =>
        $"That would make {Minutes(need)} of teaching on that day, and the instructor's limit is {limit}. Choose another day or a shorter lesson.";

    public static string Drive(int need, int have) =>
        $"The instructor needs {Minutes(need)} to get from one place to the other and has {Math.Max(0, have)}. Choose a time with more room.";

    public static string Rest(DiaryRules rules) =>
        $"The instructor needs a rest of {Minutes(rules.RestMinutes)} after {Minutes(rules.RestAfterMinutes)} of work. Choose a time that leaves one.";

    public static string Minutes(int minutes) => minutes == 1 ? "1 minute" : $"{minutes} minutes";

    private static string Hours(int hours) => hours == 1 ? "1 hour" : $"{hours} hours";

    private static string Date(LocalDate date) => Dates.Format(date);

    private static string Time(Instant moment, DateTimeZone zone) => Times.Format(moment.InZone(zone).TimeOfDay);

    private static string Name(Gearbox gearbox) => gearbox == Gearbox.Manual ? "manual" : "automatic";

    private static string CarWords(LessonWish wish) =>
        $"{Name(wish.Pupil.Gearbox)} car{(wish.Pupil.NeedsDualControls ? " with dual controls" : "")}";

    private static string OnGrid(DiaryPicture picture, Instant start)
    {
        var minute = start.InZone(picture.Zone).TimeOfDay.NanosecondOfDay / NodaConstants.NanosecondsPerMinute;
        return Times.Format(LocalTime.FromMinutesSinceMidnight((int)minute / picture.Rules.GridMinutes * picture.Rules.GridMinutes));
    }

    private static string Or(IEnumerable<string> words)
    {
        var all = words.ToList();
        return all.Count == 1 ? all[0] : $"{string.Join(", ", all.SkipLast(1))} or {all[^1]}";
    }
}
