using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Pupils;
using School.Core.Travel;

namespace School.Core.Tests.Diary.Slots;

/// <summary>
/// The rules of slot search once more, minute by minute and without any cleverness, to hold the real one against.
/// Everything in the picture must lie on whole minutes. Source: the rules in the documentation of SlotSearch.
/// </summary>
internal sealed class SlotOracle(DiaryPicture picture, LessonWish wish, ITravelTimes travel)
{
    private const long Never = long.MaxValue / 4;
    private readonly Dictionary<LocalDate, List<long>> minutesOfDates = [];
    private readonly Dictionary<(Guid, LocalDate), List<long>> workingMinutes = [];
    private readonly DiaryRules rules = picture.Rules;

    public sealed record Answer(SlotRule? Broken, Guid Car = default, long Extra = 0, long Unusable = 0);

    public List<(InstructorDiary Diary, long Start, Answer Answer)> JudgeAll(out int datesWithoutHours)
    {
        var all = new List<(InstructorDiary, long, Answer)>();
        datesWithoutHours = 0;
        foreach (var diary in picture.Instructors)
        {
            for (var date = wish.From; date <= wish.To; date = date.PlusDays(1))
            {
                var working = WorkingMinutes(diary, date);
                if (working.Count == 0)
                {
                    datesWithoutHours++;
                }

                foreach (var minute in working.Where(minute => MinuteOfDay(minute) % rules.GridMinutes == 0))
                {
                    all.Add((diary, minute, Judge(diary, minute)));
                }
            }
        }
        return all;
    }

    public Answer Judge(InstructorDiary diary, long start)
    {
        var who = diary.Instructor;
        var pupil = wish.Pupil;
        var date = Local(start).Date;
        var today = Local(Minute(picture.Now)).Date;
        var end = start + Elapsed;

        if (start < Minute(picture.Now))
        {
            return new(SlotRule.InThePast);
        }

        if (!wish.AnyStart && MinuteOfDay(start) % rules.GridMinutes != 0)
        {
            return new(SlotRule.OffTheGrid);
        }

        var lengths = rules.Kinds.Where(kind => kind.Kind == wish.Kind).SelectMany(kind => kind.Minutes).ToList();
        if (Elapsed > 720 || (!wish.AnyStart && wish.MovingLessonId is null && !(lengths.Count > 0 ? lengths : rules.LessonMinutes).Contains(wish.Minutes)))
        {
            return new(SlotRule.LengthNotOffered);
        }

        if (wish.NoticeApplies && start - Minute(picture.Now) < rules.NoticeToBookHours * 60)
        {
            return new(SlotRule.InsideNotice);
        }

        if (wish.NoticeApplies && Period.DaysBetween(today, date) > rules.HorizonDays)
        {
            return new(SlotRule.BeyondHorizon);
        }

        // Who books for themselves, and a lesson on a motorway or beside a test, waits for licence and date of birth; all else waits for a car and a place.
        var own = wish.NoticeApplies && wish.MovingLessonId is null;
        var papers = own || wish.Kind == LessonKind.Motorway || wish.Kind == LessonKind.TestDay;
        if (pupil.Missing.HasFlag(FirstLessonNeeds.PickUp) || pupil.Missing.HasFlag(FirstLessonNeeds.Gearbox) || (papers && pupil.Missing != 0))
        {
            return new(SlotRule.DetailsMissing);
        }

        // Born on 29 February: a year older on 1 March, the later of the two readings.
        var hadBirthday = (date.Month, date.Day).CompareTo((pupil.BirthDate!.Value.Month, pupil.BirthDate.Value.Day)) >= 0;
        var age = date.Year - pupil.BirthDate.Value.Year - (hadBirthday ? 0 : 1);
        var needed = pupil.MobilityAward ? Math.Min(rules.MinimumAge, rules.MinimumAgeWithMobilityAward) : rules.MinimumAge;
        if (age < needed)
        {
            return new(SlotRule.PupilTooYoung);
        }

        if (pupil.Licence is null && !papers)
        {
            if (pupil.EyesightFailedOn <= date)
            {
                return new(SlotRule.EyesightFailed);
            }
        }
        else if (LicenceOracle.Broken(pupil, date) is { } licence)
        {
            return new(licence);
        }

        if (!who.Teaches.Contains(pupil.Gearbox))
        {
            return new(SlotRule.WrongGearbox);
        }

        if (date < who.RegisteredFrom || (date > who.RegisteredTo && !(who.Kind == RegistrationKind.Trainee && who.AppliedAgainOn <= who.RegisteredTo)))
        {
            return new(SlotRule.InstructorNotRegistered);
        }

        if (rules.OnlyInServedAreas && !RandomAreas.Serves(who, wish.PickUpAreaId))
        {
            return new(SlotRule.OutsideServedAreas);
        }

        if (wish.Kind == LessonKind.Motorway && LicenceOracle.IsLearner(pupil) && who.Kind == RegistrationKind.Trainee)
        {
            return new(SlotRule.MotorwayNeedsAdi);
        }

        if (wish.Kind == LessonKind.TestDay && !pupil.Lessons.Any(other => !other.CountsInWeek && Local(Minute(other.During.Start)).Date == date))
        {
            return new(SlotRule.NoTestThatDay);
        }

        var working = WorkingMinutes(diary, date).ToHashSet();
        var lesson = Range(start, end).ToList();
        if (!lesson.All(working.Contains))
        {
            return new(SlotRule.OutsideWorkingHours);
        }

        if (lesson.Any(minute => diary.TimeOff.Any(off => Contains(off, minute))))
        {
            return new(SlotRule.TimeOff);
        }

        var entries = diary.Entries.Where(entry => entry.Id != wish.MovingLessonId).ToList();
        if (lesson.Any(minute => entries.Any(entry => Contains(entry.During, minute))))
        {
            return new(SlotRule.InstructorBusy);
        }

        var others = pupil.Lessons.Where(other => other.Id != wish.MovingLessonId).ToList();
        if (lesson.Any(minute => others.Any(other => Contains(other.During, minute))))
        {
            return new(SlotRule.PupilBusy);
        }

        var inWeek = others.Where(other => other.CountsInWeek && WeekOf(Local(Minute(other.During.Start)).Date) == WeekOf(date));
        if (inWeek.Sum(other => Length(other.During) - other.BreakMinutes) + wish.Minutes > (pupil.WeeklyMinutes ?? int.MaxValue))
        {
            return new(SlotRule.WeeklyLimit);
        }

        var taught = entries
            .Where(entry => entry.Kind == EntryKind.Lesson && Local(Minute(entry.During.Start)).Date == date)
            .Sum(entry => Length(entry.During) - entry.Breaks.Sum(rest => rest.Minutes)) + wish.Minutes;
        if (taught > rules.DailyTeachingMinutes
            || taught > who.DailyTeachingMinutes
            || (who.Kind == RegistrationKind.Trainee && taught > rules.TraineeDailyTeachingMinutes))
        {
            return new(SlotRule.DailyLimit);
        }

        return JudgePlaceAndCar(diary, entries, date, start, end, working);
    }

    private Answer JudgePlaceAndCar(InstructorDiary diary, List<DiaryEntry> entries, LocalDate date, long start, long end, HashSet<long> working)
    {
        var home = diary.Instructor.Base;
        var thatDay = MinutesOf(date);
        var onDay = entries.Where(entry => Minute(entry.During.Start) <= thatDay[^1] && Minute(entry.During.End) > thatDay[0]).ToList();
        var placed = onDay.Where(entry => entry.Begins is not null && entry.Ends is not null).ToList();
        var unplaced = onDay.Except(placed).ToList();
        var before = placed.Where(entry => Minute(entry.During.End) <= start).MaxBy(entry => entry.During.End);
        var after = placed.Where(entry => Minute(entry.During.Start) >= end).MinBy(entry => entry.During.Start);
        bool Blocked(long minute) => diary.TimeOff.Any(off => Contains(off, minute))
            || unplaced.Any(entry => Contains(entry.During, minute));

        var first = FirstDrive(home, wish.PickUp, start);
        var legBefore = before is null ? start - rules.BufferMinutes - first.Spare - first.Leaves : Leg(before.Ends!.Value, wish.PickUp, Minute(before.During.End));
        var legAfter = Leg(wish.DropOff, after?.Begins ?? home, end);
        var from = before is null ? working.Min() : Minute(before.During.End);
        var until = after is null ? working.Max() + 1 : Minute(after.During.Start);
        var needBefore = before is not null || rules.FirstLegIsWork ? legBefore + rules.BufferMinutes : 0;
        var needAfter = after is not null || rules.LastLegIsWork ? legAfter + rules.BufferMinutes : 0;
        var freeBefore = Range(from, start).Where(minute => !Blocked(minute)).ToList();
        var freeAfter = Range(end, until).Where(minute => !Blocked(minute)).ToList();
        var leavesTooEarly = before is null && rules.FirstLegIsWork && first.Leaves < working.Min();
        if (freeBefore.Count < needBefore || freeAfter.Count < needAfter || leavesTooEarly)
        {
            return new(SlotRule.NoTimeToGetThere);
        }

        var newcomer = new DiaryEntry(Guid.Empty, EntryKind.Lesson, Between(start, end), null, null, wish.PickUp, wish.DropOff) { Breaks = Dealt(wish.Minutes) };
        if (LacksRest([.. onDay, newcomer], home))
        {
            return new(SlotRule.RestNeeded);
        }

        var suitable = picture.Cars.Where(car => IsSuitable(car, diary, date, start, end)).ToList();
        var lawful = suitable.Where(car => wish.Kind != LessonKind.Motorway || !LicenceOracle.IsLearner(wish.Pupil) || car.DualControls).ToList();
        if (lawful.Count == 0)
        {
            return new(suitable.Count == 0 ? SlotRule.NoSuitableCar : SlotRule.MotorwayNeedsDualControls);
        }

        var free = lawful.Where(car => !picture.CarBusy.Any(busy => busy.CarId == car.Id && busy.LessonId != wish.MovingLessonId
            && Range(start, end).Any(minute => Contains(busy.During, minute)))).ToList();
        if (free.Count == 0)
        {
            return new(SlotRule.CarBusy);
        }

        var car = free.OrderBy(car => car.Id == before?.CarId ? 0 : car.Id == after?.CarId ? 1 : 2).ThenBy(car => car.Id).First();

        var replaced = before is not null ? Leg(before.Ends!.Value, after?.Begins ?? home, Minute(before.During.End))
            : after is not null ? FirstLeg(home, after)
            : 0;
        long Unusable(List<long> free, long need)
        {
            var left = Math.Min(free.Count - need, free.Count(working.Contains));
            return left < Shortest ? left : 0;
        }
        return new(null, car.Id, Math.Max(0, legBefore + legAfter - replaced), Unusable(freeBefore, needBefore) + Unusable(freeAfter, needAfter));
    }

    private bool IsSuitable(CarFacts car, InstructorDiary diary, LocalDate date, long start, long end)
    {
        var motNeeded = Period.Between(car.FirstRegistered, date, PeriodUnits.Years).Years >= 3;
        return car.Gearbox == wish.Pupil.Gearbox
            && (car.DualControls || !wish.Pupil.NeedsDualControls)
            && car.FirstRegistered <= date
            && (!motNeeded || (car.MotExpires is { } mot && mot >= date))
            && (car.TaxExpires is null || car.TaxExpires >= date)
            && (car.InsuranceExpires is null || car.InsuranceExpires >= date)
            && (car.ServiceDue is null || car.ServiceDue >= date)
            && Range(start, end).All(minute => !car.OffRoad.Any(off => Contains(off, minute)))
            && Range(start, end).All(minute => diary.Holds.Any(hold =>
                hold.CarId == car.Id && hold.InstructorId == diary.Instructor.Id && Contains(hold.During, minute)));
    }

    private bool LacksRest(List<DiaryEntry> onDay, Coordinates home)
    {
        if (rules.RestMinutes == 0)
        {
            return false;
        }

        // A lesson with rests is its stretches of teaching; nobody drives between them.
        var visits = onDay.Where(entry => entry.IsPlaced || entry.Kind == EntryKind.Lesson).OrderBy(entry => entry.During.Start).SelectMany(Stretches).ToList();
        var lessons = visits.Where(visit => visit.Entry.Kind == EntryKind.Lesson).ToList();

        long DriveTo(Visit visit)
        {
            var entry = visit.Entry;
            var from = visits.Take(visits.IndexOf(visit)).LastOrDefault(other => other.Entry.IsPlaced)?.Entry;
            return !entry.IsPlaced || !visit.IsFirst ? 0
                : from is null ? FirstLeg(home, entry)
                : Leg(from.Ends!.Value, entry.Begins!.Value, Minute(from.During.End));
        }
        long Driving(int lesson) => visits.Skip(visits.IndexOf(lessons[lesson - 1]) + 1)
            .Take(visits.IndexOf(lessons[lesson]) - visits.IndexOf(lessons[lesson - 1])).Sum(DriveTo);
        // What lies between two stretches of one lesson was agreed as a rest.
        bool RestsBefore(int lesson) => lessons[lesson].Entry == lessons[lesson - 1].Entry
            || lessons[lesson].Start - lessons[lesson - 1].End - Driving(lesson) >= rules.RestMinutes;
        long WorkUpToTheEndOf(int lesson) => lessons[lesson].End - lessons[lesson].Start + (
            lesson == 0 ? (rules.FirstLegIsWork && visits[0] == lessons[0] ? DriveTo(lessons[0]) : 0)
            : RestsBefore(lesson) ? 0
            : Driving(lesson) + WorkUpToTheEndOf(lesson - 1));

        return Enumerable.Range(0, Math.Max(0, lessons.Count - 1))
            .Any(lesson => WorkUpToTheEndOf(lesson) >= rules.RestAfterMinutes && !RestsBefore(lesson + 1));
    }

    private sealed record Visit(DiaryEntry Entry, long Start, long End, bool IsFirst);

    private static IEnumerable<Visit> Stretches(DiaryEntry entry)
    {
        var begins = Minute(entry.During.Start);
        var at = begins;
        foreach (var rest in entry.Breaks)
        {
            yield return new(entry, at, begins + rest.After, at == begins);
            at = begins + rest.After + rest.Minutes;
        }

        yield return new(entry, at, Minute(entry.During.End), at == begins);
    }

    /// <summary>The rests of a lesson: its minutes dealt out one by one to as few stretches as will hold them.</summary>
    private List<LessonBreak> Dealt(int minutes)
    {
        var stretches = new List<int> { 0 };
        while (rules.RestMinutes > 0 && stretches.Count * rules.RestAfterMinutes < minutes)
        {
            stretches.Add(0);
        }

        for (var minute = 0; minute < minutes; minute++)
        {
            stretches[minute % stretches.Count]++;
        }

        var (breaks, at) = (new List<LessonBreak>(), 0);
        foreach (var stretch in stretches.SkipLast(1))
        {
            breaks.Add(new(at + stretch, rules.RestMinutes));
            at += stretch + rules.RestMinutes;
        }

        return breaks;
    }

    public long End(long start) => start + Elapsed;

    private long Elapsed => Taken(wish.Minutes);

    private long Taken(int minutes) => minutes + Dealt(minutes).Sum(rest => rest.Minutes);

    /// <summary>What the shortest lesson takes of any kind that is given.</summary>
    private long Shortest => shortest ??= (from kind in Enum.GetValues<LessonKind>()
                                           let own = rules.Kinds.FirstOrDefault(one => one.Kind == kind)
                                           where own is not { Offered: false }
                                           from minutes in own is { Minutes.Count: > 0 } ? own.Minutes : rules.LessonMinutes
                                           select minutes).Distinct().Min(Taken);

    private long? shortest;

    private List<long> WorkingMinutes(InstructorDiary diary, LocalDate date)
    {
        if (workingMinutes.TryGetValue((diary.Instructor.Id, date), out var known))
        {
            return known;
        }

        var working = new SortedSet<long>();
        foreach (var hours in diary.Hours)
        {
            if (hours.Day != date.DayOfWeek || date < hours.From || date > hours.To)
            {
                continue;
            }

            var (from, to) = (hours.Start.Hour * 60 + hours.Start.Minute, hours.End.Hour * 60 + hours.End.Minute);
            if (to == 0)
            {
                to = 24 * 60;
            }

            var minutes = MinutesOf(date);
            var first = minutes.First(minute => MinuteOfDay(minute) >= from);
            // The end is a moment, not a minute: of a repeated 01:00 the second, although the minute before is not repeated.
            var end = minutes.Exists(minute => MinuteOfDay(minute) == to)
                ? minutes.Last(minute => MinuteOfDay(minute) == to)
                : minutes.Last(minute => MinuteOfDay(minute) < to) + 1;
            working.UnionWith(Range(first, end));
        }
        return workingMinutes[(diary.Instructor.Id, date)] = [.. working];
    }

    private List<long> MinutesOf(LocalDate date)
    {
        if (!minutesOfDates.TryGetValue(date, out var minutes))
        {
            var noon = Minute(date.At(new LocalTime(12, 0)).InUtc().ToInstant());
            minutesOfDates[date] = minutes = [.. Range(noon - 2880, noon + 2880).Where(minute => Local(minute).Date == date)];
        }
        return minutes;
    }

    private long FirstLeg(Coordinates home, DiaryEntry entry)
    {
        var start = Minute(entry.During.Start);
        var (leaves, spare) = FirstDrive(home, entry.Begins!.Value, start);
        return start - rules.BufferMinutes - spare - leaves;
    }

    /// <summary>The last minute at which one can leave and be there the buffer before the start, minute by minute; and how much earlier one is there.</summary>
    private (long Leaves, long Spare) FirstDrive(Coordinates home, Coordinates place, long start)
    {
        var by = start - rules.BufferMinutes;
        for (var leaves = by; ; leaves--)
        {
            var there = leaves + Leg(home, place, leaves);
            if (there <= by)
            {
                return (leaves, by - there);
            }
        }
    }

    private long Leg(Coordinates from, Coordinates to, long leaving) => travel.Between(from, to, Local(leaving)).Minutes;

    private LocalDateTime Local(long minute) => Instant.FromUnixTimeSeconds(minute * 60).InZone(picture.Zone).LocalDateTime;

    private int MinuteOfDay(long minute) => Local(minute).Hour * 60 + Local(minute).Minute;

    private static LocalDate WeekOf(LocalDate date) => date.Previous(IsoDayOfWeek.Sunday);

    private static IEnumerable<long> Range(long from, long until)
    {
        for (var minute = from; minute < until; minute++)
        {
            yield return minute;
        }
    }

    private static bool Contains(Interval interval, long minute) =>
        (interval.HasStart ? Minute(interval.Start) : -Never) <= minute && minute < (interval.HasEnd ? Minute(interval.End) : Never);

    private static long Length(Interval interval) => Minute(interval.End) - Minute(interval.Start);

    private static long Minute(Instant instant) => instant.ToUnixTimeSeconds() / 60;

    private static Interval Between(long start, long end) =>
        new(Instant.FromUnixTimeSeconds(start * 60), Instant.FromUnixTimeSeconds(end * 60));
}
