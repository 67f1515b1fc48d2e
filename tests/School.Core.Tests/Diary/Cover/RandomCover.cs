using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Cover;
using School.Core.Diary.Time;
using School.Core.Pupils;
using School.Core.Travel;

namespace School.Core.Tests.Diary.Cover;

/// <summary>An invented instructor who is ill (or whose car is in the workshop) for a day, and colleagues with days of their own.</summary>
internal sealed class RandomCover
{
    private static readonly DateTimeZone London = DateTimeZoneProviders.Tzdb["Europe/London"];
    private static readonly LocalDate Date = new(2026, 6, 9);
    private readonly Random random;

    // Of their own, so that the problems of a seed stay what they were.
    private readonly Random traits;
    private readonly DiaryRules rules;
    private readonly List<CarFacts> cars = [];
    private readonly List<CarBusy> busy = [];

    private RandomCover(int seed)
    {
        (random, traits) = (new(seed), new(seed));
        rules = new DiaryRules
        {
            GridMinutes = Pick(15, 30),
            BufferMinutes = random.Next(0, 11),
            RestAfterMinutes = Pick(90, 120, 120, 180),
            RestMinutes = Pick(0, 15, 15, 30),
            DailyTeachingMinutes = Pick(300, 420, 480),
            FirstLegIsWork = Often(0.4),
            LastLegIsWork = Often(0.4),
        };
    }

    /// <summary>A problem of one date.</summary>
    /// <param name="seed">Another each.</param>
    /// <param name="lessons">How many lessons the day has at most.</param>
    /// <param name="colleagues">How many others there are.</param>
    /// <param name="hoursMoved">By how many hours pupils may be moved at most; each draws their own.</param>
    public static CoverProblem Make(int seed, int lessons, int colleagues, int hoursMoved) => new RandomCover(seed).Make(lessons, colleagues, hoursMoved).With(seed);

    private CoverProblem Make(int lessons, int colleagues, int hoursMoved)
    {
        var carOff = Often(0.3);
        var (id, car) = (NewId(), Car());
        var booked = Lessons(id, car.Id, lessons, 0.97);
        var off = new Interval(At(0), At(Often(0.8) ? 1440 : random.Next(600, 900)));
        if (carOff)
        {
            cars[0] = car with { OffRoad = [off] };
        }

        var absent = new InstructorDiary(
            Instructor(id), Hours(), carOff ? [] : [off], [.. booked],
            [Hold(car.Id, id), .. carOff && Often(0.6) ? [Hold(Car().Id, id)] : Array.Empty<CarHold>()]);
        var diaries = Enumerable.Range(0, colleagues).Select(_ => Colleague()).Prepend(absent).ToList();
        var affected = booked.Where(entry => entry.During.Start < off.End).ToList();
        var pupils = affected.ToDictionary(entry => entry.Id, _ => (Id: NewId(), Gearbox: cars[0].Gearbox));
        // Now and then one pupil has two of the lessons.
        if (affected.Count > 1 && Often(0.25))
        {
            pupils[affected[^1].Id] = pupils[affected[0].Id];
        }

        var facts = pupils.Values.Distinct().ToDictionary(
            pupil => pupil.Id, pupil => Pupil(pupil, affected.Where(entry => pupils[entry.Id].Id == pupil.Id)));
        var all = affected.Select(entry => new CoverLesson(
            entry.Id, id, facts[pupils[entry.Id].Id], entry.During,
            entry.Begins!.Value, entry.Ends!.Value, Windows(entry.During, hoursMoved))
        {
            Breaks = entry.Breaks,
            Kind = traits.Next(6) == 0 ? LessonKind.Motorway : LessonKind.Standard,
        }).ToList();
        return new(new(rules, London, At(0) - Duration.FromDays(random.Next(0, 3)) + Duration.FromHours(7), diaries, cars, busy), all);
    }

    private InstructorDiary Colleague()
    {
        var (id, car) = (NewId(), Car());
        var entries = Lessons(id, car.Id, random.Next(0, 6), 0.6);
        if (Often(0.25))
        {
            entries.Add(new(NewId(), EntryKind.Busy, PeriodOfDay(), null, null, null, null));
        }

        entries = [.. entries.Where(entry => entry.Kind == EntryKind.Lesson || !entries.Exists(other => other != entry && other.During.Start < entry.During.End && entry.During.Start < other.During.End))];
        foreach (var entry in entries.Where(entry => entry.CarId is not null))
        {
            busy.Add(new(car.Id, entry.Id, entry.During));
        }

        return new(Instructor(id), Hours(), Often(0.2) ? [PeriodOfDay()] : [], entries, [Hold(car.Id, id), .. Often(0.2) ? [Hold(Car().Id, id)] : Array.Empty<CarHold>()]);
    }

    private List<DiaryEntry> Lessons(Guid instructor, Guid car, int most, double filled)
    {
        var entries = new List<DiaryEntry>();
        for (var minute = random.Next(32, 40) * 15; minute < 1140 && entries.Count < most;)
        {
            var length = Pick(60, 60, 60, 90, 120);
            if (Often(filled))
            {
                entries.Add(new(NewId(), EntryKind.Lesson, new(At(minute), At(minute + length)), NewId(), car, Place(), Place()) { Breaks = Rests(length) });
            }

            minute += length + Pick(15, 30, 30, 45, 60);
        }
        return entries;
    }

    /// <summary>Now and then a rest within a lesson, where the school asks for rests.</summary>
    private IReadOnlyList<LessonBreak> Rests(int length) =>
        length < 90 || traits.Next(2) == 0 || rules.RestMinutes == 0 ? [] : [new(traits.Next(10, length - rules.RestMinutes - 10), rules.RestMinutes + traits.Next(0, 2) * 5)];

    private InstructorFacts Instructor(Guid id) => new(
        id, Often(0.8) ? [Gearbox.Manual, Gearbox.Automatic] : [Gearbox.Manual], Place(), Often(0.15) ? RegistrationKind.Trainee : RegistrationKind.Approved,
        null, new LocalDate(2028, 1, 1), Often(0.8) ? null : Pick(240, 360));

    private List<WorkingHours> Hours()
    {
        var (start, end) = (Pick(8, 8, 9, 10), Pick(16, 18, 19, 20));
        return Often(0.8)
            ? [new(Date.DayOfWeek, new(start, 0), new(end, 0), Date.PlusYears(-1), null)]
            : [new(Date.DayOfWeek, new(start, 0), new(12, 30), Date.PlusYears(-1), null), new(Date.DayOfWeek, new(13, 15), new(end, 0), Date.PlusYears(-1), null)];
    }

    private PupilFacts Pupil((Guid Id, Gearbox Gearbox) who, IEnumerable<DiaryEntry> lessons)
    {
        var own = lessons.Select(entry => new PupilLesson(entry.Id, entry.During) { BreakMinutes = entry.Breaks.Sum(rest => rest.Minutes) }).ToList();
        if (Often(0.1))
        {
            own.Add(new(NewId(), new(At(1170), At(1230))));
        }

        return new(who.Id, new LocalDate(2001, 1, 1), false, who.Gearbox, Licence.Provisional(new(2020, 1, 1)), Often(0.5), Often(0.9) ? null : 600, own);
    }

    private List<Interval> Windows(Interval booked, int hours)
    {
        var (before, after) = (random.Next(0, hours + 1), random.Next(0, hours + 1));
        return before + after == 0 ? [] : [new(booked.Start - Duration.FromHours(before), booked.End + Duration.FromHours(after))];
    }

    private CarFacts Car()
    {
        var car = new CarFacts(
            NewId(), Often(0.75) ? Gearbox.Manual : Gearbox.Automatic, Often(0.85), new LocalDate(2024, 5, 1), null, Often(0.9) ? null : Date.PlusDays(random.Next(-1, 2)),
            null, null, Often(0.9) ? [] : [PeriodOfDay()]);
        cars.Add(car);
        return car;
    }

    private static CarHold Hold(Guid car, Guid instructor) => new(car, instructor, new Interval(At(0) - Duration.FromDays(30), null));

    private Interval PeriodOfDay()
    {
        var start = random.Next(32, 70) * 15;
        return new(At(start), At(start + random.Next(2, 10) * 15));
    }

    private static Instant At(int minute) => Date.AtMidnight().InZoneStrictly(London).ToInstant() + Duration.FromMinutes(minute);

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
