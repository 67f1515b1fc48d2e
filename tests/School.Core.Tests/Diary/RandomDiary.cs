using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Core.Pupils;
using School.Core.Travel;

namespace School.Core.Tests.Diary;

/// <summary>Invented diaries, crowded enough that every rule has something to refuse. Everything lies on whole minutes.</summary>
internal sealed class RandomDiary
{
    private static readonly DateTimeZone London = DateTimeZoneProviders.Tzdb["Europe/London"];
    private readonly Random random;

    // Of their own, so that the diaries of a seed stay what they were.
    private readonly Random applications;
    private readonly Random traits;
    private readonly Random licences;
    private readonly LocalDate first;
    private readonly int days;
    private readonly DiaryRules rules;
    private readonly List<DiaryEntry> pupilsOwn = [];
    private readonly List<CarBusy> carBusy = [];

    private RandomDiary(int seed, bool plain)
    {
        (random, applications, licences, traits) = (new(seed), new(seed), new(seed), new(seed));
        first = plain ? new LocalDate(2026, 6, 8).PlusDays(random.Next(100)) : Pick(
            new LocalDate(2026, 3, 29), new LocalDate(2026, 10, 25), new LocalDate(2026, 6, 8), new LocalDate(2026, 1, 1).PlusDays(random.Next(365)));
        days = plain ? 1 : random.Next(1, 3);
        var offered = Pick<IReadOnlyList<int>>([60, 90, 120], [60, 90, 120], [45, 60]);
        rules = new DiaryRules
        {
            GridMinutes = Pick(15, 15, 20, 30),
            LessonMinutes = offered,
            BufferMinutes = random.Next(0, 11),
            NoticeToBookHours = Pick(0, 2, 12, 24, 48),
            HorizonDays = Often(0.85) ? 84 : random.Next(1, 4),
            RestAfterMinutes = Pick(60, 90, 120, 120, 180),
            RestMinutes = Pick(0, 10, 15, 15, 30),
            DailyTeachingMinutes = Pick(240, 360, 480, 480),
            TraineeDailyTeachingMinutes = Often(0.5) ? Pick(180, 300) : null,
            FirstLegIsWork = Often(0.5),
            LastLegIsWork = Often(0.5),
        };
    }

    /// <summary>A picture and a wish.</summary>
    public static (DiaryPicture Picture, LessonWish Wish) Make(int seed) => new RandomDiary(seed, plain: false).Make().With(seed);

    /// <summary>The same with one instructor, one date without a clock change, and no odd entries.</summary>
    public static (DiaryPicture Picture, LessonWish Wish) MakePlain(int seed) => new RandomDiary(seed, plain: true).Make(plain: true).With(seed);

    private (DiaryPicture, LessonWish) Make(bool plain = false)
    {
        var pupilGearbox = Pick(Gearbox.Manual, Gearbox.Automatic);
        var cars = Enumerable.Range(0, random.Next(1, 4)).Select(_ => Car(pupilGearbox)).ToList();
        var pupilId = NewId();
        var diaries = Enumerable.Range(0, plain ? 1 : random.Next(1, 3)).Select(_ => Diary(cars, pupilId, plain)).ToList();
        foreach (var car in cars.Where(_ => Often(0.2)))
        {
            carBusy.Add(new(car.Id, NewId(), Period(60, 240)));
        }

        var lessons = diaries.SelectMany(diary => diary.Entries).Where(entry => entry.Kind == EntryKind.Lesson).ToList();
        DiaryEntry? moving = lessons.Count > 0 && Often(0.3) ? lessons[random.Next(lessons.Count)] : null;
        if (moving is not null)
        {
            pupilsOwn.Add(moving);
        }

        var now = At(first, random.Next(0, 1440)) - Duration.FromDays(plain || Often(0.6) ? random.Next(2, 5) : random.Next(0, 2));
        var wish = new LessonWish(
            Pupil(pupilId, pupilGearbox, plain),
            Often(0.05) ? 50 : rules.LessonMinutes[random.Next(rules.LessonMinutes.Count)],
            Place(),
            Place(),
            first,
            first.PlusDays(days - 1),
            moving?.Id,
            NoticeApplies: Often(0.7),
            AnyStart: Often(0.15));
        return WithTraits(new(rules, London, now, diaries, cars, carBusy), wish);
    }

    /// <summary>Kinds of lesson, lengths that carry rests, and rests in what is booked already.</summary>
    private (DiaryPicture, LessonWish) WithTraits(DiaryPicture picture, LessonWish wish)
    {
        var kind = traits.Next(25) switch { 0 or 1 => LessonKind.Motorway, 2 => LessonKind.TestDay, 3 => LessonKind.Mock, _ => LessonKind.Standard };
        var longer = new[] { 125, 150, 240, 300, 480, 700 }[traits.Next(6)];
        var own = traits.Next(5) == 0;
        if (traits.Next(14) == 0)
        {
            wish = wish with { Minutes = longer };
            picture = picture with { Rules = rules with { LessonMinutes = own ? rules.LessonMinutes : [.. rules.LessonMinutes, longer] } };
        }

        if (own)
        {
            picture = picture with { Rules = picture.Rules with { Kinds = [new(kind, "Own", [wish.Minutes], true, true, true)] } };
        }

        var rests = picture.Instructors.SelectMany(diary => diary.Entries).Where(entry => entry.Kind == EntryKind.Lesson && traits.Next(4) == 0)
            .ToDictionary(entry => entry.Id, Rests);
        var tests = wish.Pupil.Lessons.Where(lesson => !rests.ContainsKey(lesson.Id) && kind == LessonKind.TestDay && traits.Next(3) > 0 && lesson.Id != wish.MovingLessonId)
            .Select(lesson => lesson.Id).ToHashSet();
        var pupil = wish.Pupil with
        {
            // Else the pupil asks for dual controls where the motorway would.
            NeedsDualControls = wish.Pupil.NeedsDualControls && kind != LessonKind.Motorway,
            Lessons = [.. wish.Pupil.Lessons.Select(lesson => rests.TryGetValue(lesson.Id, out var breaks)
                ? lesson with { BreakMinutes = breaks.Sum(rest => rest.Minutes) }
                : tests.Contains(lesson.Id) ? lesson with { CountsInWeek = false } : lesson)],
        };
        return (picture with
        {
            Cars = [.. picture.Cars.Select(car => kind == LessonKind.Motorway && traits.Next(2) == 0 ? car with { DualControls = false } : car)],
            Instructors = [.. picture.Instructors.Select(diary => diary with
            {
                Entries = [.. diary.Entries.Select(entry => rests.TryGetValue(entry.Id, out var breaks) ? entry with { Breaks = breaks }
                    : tests.Contains(entry.Id) ? entry with { Kind = EntryKind.Test } : entry)],
            })],
        }, wish with { Pupil = pupil, Kind = kind });
    }

    /// <summary>One or two within a lesson, long enough for a rest or not.</summary>
    private IReadOnlyList<LessonBreak> Rests(DiaryEntry entry)
    {
        var (length, rest) = ((int)entry.During.Duration.TotalMinutes, new[] { 5, 10, 15, 30 }[traits.Next(4)]);
        var first = traits.Next(5, 20);
        return traits.Next(2) == 0 || length < (2 * rest) + 40 ? [new(first, Math.Min(rest, length - 25))] : [new(first, rest), new(first + rest + 10, rest)];
    }

    private InstructorDiary Diary(List<CarFacts> cars, Guid pupilId, bool plain)
    {
        var id = NewId();
        var kind = Often(0.3) ? RegistrationKind.Trainee : RegistrationKind.Approved;
        var lastDay = Often(0.95) ? first.PlusYears(1) : first.PlusDays(random.Next(-1, 1));
        var instructor = new InstructorFacts(
            id,
            Often(0.9) ? [Gearbox.Manual, Gearbox.Automatic] : [Pick(Gearbox.Manual, Gearbox.Automatic)],
            Place(),
            kind,
            Often(0.95) ? null : first.PlusDays(random.Next(0, 3)),
            lastDay,
            Often(0.7) ? null : Pick(120, 240, 400),
            applications.Next(2) == 0 ? null : lastDay.PlusDays(applications.Next(-1, 2)));
        var timeOff = Enumerable.Range(0, random.Next(0, 3)).Select(_ => Period(30, 150)).ToList();
        if (!plain && Often(0.05))
        {
            timeOff.Add(Often(0.5) ? new Interval(At(first, 840), null) : new Interval(null, At(first, 660)));
        }

        var entries = new List<DiaryEntry>();
        for (var day = 0; day < days; day++)
        {
            entries.AddRange(EntriesOn(first.PlusDays(day), cars, pupilId, plain));
        }

        return new(instructor, Hours(), timeOff, entries, [.. cars.SelectMany(car => Holds(car.Id, id))]);
    }

    private List<WorkingHours> Hours()
    {
        var hours = new List<WorkingHours>();
        for (var day = 0; day < days && Often(0.95); day++)
        {
            var date = first.PlusDays(day);
            var start = Often(0.3) ? random.Next(0, 8) * 15 : random.Next(28, 42) * 15;
            var noon = start + random.Next(3, 20) * 15;
            var afternoon = noon + Pick(0, 0, 45, 120);
            var end = Math.Min(1440, afternoon + random.Next(8, 24) * 15);
            hours.Add(new(date.DayOfWeek, Clock(start), Clock(noon), first.PlusDays(-random.Next(400)), Often(0.8) ? null : date));
            hours.Add(new(date.DayOfWeek, Clock(afternoon), Clock(end), first.PlusDays(-7), null));
            hours.Add(new(date.DayOfWeek, Clock(0), Clock(0), first.PlusYears(-2), date.PlusDays(-1)));
        }
        return hours;
    }

    private List<DiaryEntry> EntriesOn(LocalDate date, List<CarFacts> cars, Guid pupilId, bool plain)
    {
        var entries = new List<DiaryEntry>();
        var minute = Often(0.25) ? random.Next(0, 300) : random.Next(420, 720);
        while (minute < 1200 && Often(0.8))
        {
            var length = Pick(60, 60, 90, 120);
            var during = new Interval(At(date, minute), At(date, minute) + Duration.FromMinutes(length));
            minute += length + Pick(0, 15, 30, 45, 75, 120, 240);
            var odd = random.NextDouble();
            var lesson = odd < 0.82 || (odd > 0.94 && !plain);
            var placed = odd < (plain ? 0.82 : 0.87);
            var carId = lesson && cars.Count > 0 ? cars[random.Next(cars.Count)].Id : (Guid?)null;
            var entry = new DiaryEntry(
                NewId(), lesson ? EntryKind.Lesson : EntryKind.Busy, during,
                lesson ? (Often(0.1) ? pupilId : NewId()) : null, carId, placed ? Place() : null, placed ? Place() : null);
            entries.Add(entry);
            if (carId is { } car)
            {
                carBusy.Add(new(car, entry.Id, during));
            }

            if (entry.PupilId == pupilId)
            {
                pupilsOwn.Add(entry);
            }
        }
        if (!plain && Often(0.1))
        {
            entries.Add(new(NewId(), EntryKind.Busy, Period(20, 90), null, null, null, null));
        }

        return entries;
    }

    private PupilFacts Pupil(Guid id, Gearbox gearbox, bool plain)
    {
        var lessons = pupilsOwn.DistinctBy(entry => entry.Id).Select(entry => new PupilLesson(entry.Id, entry.During)).ToList();
        for (var i = random.Next(0, 3); i > 0; i--)
        {
            lessons.Add(new(NewId(), Often(0.5) ? Period(60, 120) : PeriodOn(first.PlusDays(random.Next(-6, 7)), 60, 120)));
        }

        var pupil = new PupilFacts(
            id,
            plain || Often(0.85) ? new LocalDate(2000, 2, 29) : first.PlusYears(-Pick(16, 17)).PlusDays(random.Next(-2, 3)),
            Often(0.2),
            gearbox,
            Often(0.93) ? Licence.Provisional(new(2020, 1, 1)) : Often(0.5) ? null : Licence.Provisional(first.PlusDays(random.Next(0, 2))),
            Often(0.4),
            Often(0.6) ? null : Pick(60, 120, 180, 240),
            lessons);
        return plain ? pupil : WithLicence(pupil);
    }

    /// <summary>One in four brings another licence than a learner's, most of them near the day on which they end; some have failed an eyesight check or are new.</summary>
    private PupilFacts WithLicence(PupilFacts pupil)
    {
        var (from, near) = (new LocalDate(2015, 1, 1), first.PlusDays(licences.Next(-2, 3)));
        var licence = licences.Next(36) switch
        {
            0 => new Licence(LicenceKind.FullManual, from, near),
            1 => new Licence(LicenceKind.FullAutomatic, from, near),
            2 => new Licence(LicenceKind.Provisional, from, near),
            3 or 4 or 5 => new Licence(LicenceKind.Foreign, from, licences.Next(3) == 0 ? near.PlusDays(1) : null, near.PlusYears(-1)),
            6 => new Licence(LicenceKind.Foreign, from, null, near.PlusMonths(-3), Conditions: ["78"]),
            7 or 8 => new Licence(LicenceKind.Disqualified, null, DisqualifiedUntil: near),
            _ => pupil.Licence,
        };
        var (eyes, missing) = (licences.Next(20), licences.Next(40));
        return pupil with
        {
            Licence = licence,
            EyesightFailedOn = eyes == 0 ? near : null,
            Missing = missing == 0 ? FirstLessonNeeds.PickUp : FirstLessonNeeds.None,
        };
    }

    private CarFacts Car(Gearbox usual)
    {
        LocalDate? Paper() => Often(0.3) ? null : Often(0.92) ? first.PlusMonths(3) : first.PlusDays(random.Next(-1, 1));
        return new(
            NewId(),
            Often(0.75) ? usual : Pick(Gearbox.Manual, Gearbox.Automatic),
            Often(0.8),
            Often(0.5) ? new LocalDate(2019, 5, 1) : first.PlusYears(-3).PlusDays(random.Next(-1, 60)),
            Often(0.9) ? first.PlusMonths(4) : null,
            Paper(),
            Paper(),
            Paper(),
            Often(0.85) ? [] : [Often(0.7) ? Period(60, 300) : new Interval(Period(60, 60).Start, null)]);
    }

    private IEnumerable<CarHold> Holds(Guid carId, Guid instructorId)
    {
        var split = At(first, random.Next(540, 900));
        return random.Next(8) switch
        {
            0 => [],
            1 => [new(carId, instructorId, Period(300, 700))],
            2 => [new(carId, instructorId, new Interval(null, split)), new(carId, instructorId, new Interval(split, null))],
            3 => [new(carId, NewId(), new Interval(null, null))],
            _ => [new(carId, instructorId, new Interval(At(first.PlusDays(-30), 0), null))],
        };
    }

    private Interval Period(int shortest, int longest) => PeriodOn(first.PlusDays(random.Next(days)), shortest, longest);

    private Interval PeriodOn(LocalDate date, int shortest, int longest)
    {
        var start = At(date, Often(0.2) ? random.Next(0, 400) : random.Next(400, 1200));
        return new(start, start + Duration.FromMinutes(random.Next(shortest, longest + 1)));
    }

    private static Instant At(LocalDate date, int minute) =>
        date.At(LocalTime.FromMinutesSinceMidnight(minute)).InZoneLeniently(London).ToInstant();

    private static LocalTime Clock(int minute) => LocalTime.FromMinutesSinceMidnight(minute % 1440);

    private Coordinates Place() => new(52.1 + random.Next(100) / 1000.0, -1.3 + random.Next(100) / 1000.0);

    private bool Often(double share) => random.NextDouble() < share;

    private T Pick<T>(params T[] choices) => choices[random.Next(choices.Length)];

    private Guid NewId()
    {
        var bytes = new byte[16];
        random.NextBytes(bytes);
        return new(bytes);
    }
}
