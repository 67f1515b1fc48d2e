using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Courses;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Core.Pupils;

namespace School.Core.Tests.Diary.Courses;

/// <summary>Invented wishes for short courses in diaries with so much in them that not every day has room.</summary>
internal static class RandomCourse
{
    public static (DiaryPicture Picture, CourseWish Wish) Make(int seed)
    {
        var random = new Random(seed);
        // Any day of the week, so that some go over a Sunday.
        var first = Larkfield.Monday.PlusDays(random.Next(7));
        var days = random.Next(2, 6);
        var dates = Enumerable.Range(0, days).Select(first.PlusDays).ToList();
        var rules = Larkfield.Rules with
        {
            GridMinutes = 30,
            BufferMinutes = random.Next(2) * 10,
            RestAfterMinutes = Pick(60, 90, 120, 120),
            RestMinutes = Pick(0, 15, 15, 30),
            DailyTeachingMinutes = Pick(120, 240, 300, 480),
            Kinds = random.Next(3) > 0 ? [] : [KindRule.Shipped[(int)LessonKind.Intensive] with { Minutes = Pick<IReadOnlyList<int>>([45, 120], [75, 90, 180], [240]) }],
        };
        var entries = dates.SelectMany(Entries).ToList();
        var own = dates.Where(_ => random.Next(4) == 0).Select(date => new PupilLesson(
            Guid.NewGuid(), new(At(date, random.Next(16, 32) * 30), At(date, 1020)), random.Next(3) > 0)
        { BreakMinutes = random.Next(2) * 15 }).ToList();
        own.Add(new(Guid.NewGuid(), new(At(first.PlusDays(-2), 600), At(first.PlusDays(-2), 690))));
        var pupil = Larkfield.Pupil with { WeeklyMinutes = random.Next(2) == 0 ? null : Pick(150, 240, 300, 420, 600), Lessons = [.. own.Where(lesson => lesson.During.Duration > Duration.Zero)] };
        var diary = Larkfield.DiaryWith([.. entries]) with
        {
            Hours = [.. Enumerable.Range(1, 7).Where(_ => random.Next(8) > 0).Select(day => new WorkingHours((IsoDayOfWeek)day, new(random.Next(8, 12), 0), new(random.Next(14, 19), 0), new(2026, 1, 1), null))],
            TimeOff = random.Next(4) == 0 ? [new Interval(At(dates[^1], 0), At(dates[^1], random.Next(600, 900)))] : [],
        };
        var most = Pick(60, 120, 120, 180, 240);
        var lesson = new LessonWish(
            pupil, 60, Larkfield.Place(random.Next(30)), Larkfield.Place(random.Next(30)), first, dates[^1], null, NoticeApplies: false, AnyStart: true, LessonKind.Intensive);
        return (
            Larkfield.Picture(diary, rules) with { Now = At(first, random.Next(3) == 0 ? 660 : 0) },
            new(lesson, random.Next(1, 21) * 30, most, random.Next(2) == 0 ? [] : [.. Times()], [.. dates.Where(_ => random.Next(6) == 0)]));

        IEnumerable<DiaryEntry> Entries(LocalDate date)
        {
            for (var at = random.Next(16, 22) * 30; at < 1080 && random.Next(2) > 0; at += random.Next(3, 9) * 30)
            {
                yield return new(
                    Guid.NewGuid(), random.Next(5) == 0 ? EntryKind.Busy : EntryKind.Lesson, new(At(date, at), At(date, at + (random.Next(2, 4) * 30))), Guid.NewGuid(),
                    Larkfield.CarId, Larkfield.Place(random.Next(30)), Larkfield.Place(random.Next(30)));
            }
        }

        IEnumerable<AvailableTime> Times()
        {
            foreach (var date in dates.Where(_ => random.Next(5) > 0))
            {
                var from = random.Next(8, 14);
                yield return new(date.DayOfWeek, new(from, 30 * random.Next(2)), new(random.Next(from + 1, 20), 0));
            }
        }

        T Pick<T>(params T[] choices) => choices[random.Next(choices.Length)];
    }

    public static Instant At(LocalDate date, int minute) => date.At(LocalTime.Midnight).PlusMinutes(minute).InZoneStrictly(Larkfield.Zone).ToInstant();
}
