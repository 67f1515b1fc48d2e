using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Courses;
using School.Core.Diary.Slots;

namespace School.Core.Tests.Diary.Courses;

/// <summary>Judges a course by trying every way to spread it: every date, every length, every start, asked one by one.</summary>
internal sealed class CourseJudge(DiaryPicture picture, CourseWish wish, IReadOnlyList<int> lengths)
{
    private List<(int Minutes, int Days, long Squares, int Driving, int Late)> all = [];

    /// <summary>Minutes and cost of the best.</summary>
    public (int Minutes, int Days, long Squares, int Driving, int Late) Best()
    {
        all = [(0, 0, 0, 0, 0)];
        Spread(0, [], (0, 0, 0, 0, 0), [.. Days()]);
        return all.OrderByDescending(way => way.Minutes).ThenBy(way => way.Days).ThenBy(way => way.Squares).ThenBy(way => way.Driving).ThenBy(way => way.Late).First();
    }

    private IEnumerable<(LocalDate Date, List<(int Minutes, int Driving)> Choices)> Days()
    {
        for (var date = wish.Lesson.From; date <= wish.Lesson.To; date = date.PlusDays(1))
        {
            yield return (date, wish.LeftOut.Contains(date) ? [] : [.. lengths.Where(minutes => minutes + HadOn(date) <= wish.MostADay).Select(minutes => (minutes, Cheapest(date, minutes))).Where(choice => choice.Item2 is not null).Select(choice => (choice.minutes, choice.Item2!.Value))]);
        }
    }

    private int? Cheapest(LocalDate date, int minutes)
    {
        var starts = Enumerable.Range(0, 1440 / picture.Rules.GridMinutes).Select(step => RandomCourse.At(date, step * picture.Rules.GridMinutes));
        var offers = starts.Select(start => SlotSearch.Check(picture, wish.Lesson with { Minutes = minutes }, Larkfield.InstructorId, start, Larkfield.OneRoad).Offer)
            .OfType<SlotOffer>().Where(PupilCan).ToList();
        return offers.Count == 0 ? null : offers.Min(offer => offer.ExtraDrivingMinutes);
    }

    private bool PupilCan(SlotOffer offer)
    {
        var (from, to) = (offer.Start.InZone(picture.Zone).LocalDateTime, offer.End.InZone(picture.Zone).LocalDateTime);
        return wish.Available.Count == 0 || wish.Available.Any(time => time.Day == from.DayOfWeek && time.From <= from.TimeOfDay && to.TimeOfDay <= time.To);
    }

    private void Spread(
        int at, Dictionary<LocalDate, int> weeks, (int Minutes, int Days, long Squares, int Driving, int Late) sofar, List<(LocalDate Date, List<(int Minutes, int Driving)> Choices)> days)
    {
        if (at == days.Count)
        {
            all.Add(sofar);
            return;
        }

        Spread(at + 1, weeks, sofar, days);
        var monday = Monday(days[at].Date);
        foreach (var (minutes, driving) in days[at].Choices)
        {
            var inWeek = weeks.GetValueOrDefault(monday) + minutes;
            if (sofar.Minutes + minutes <= wish.Minutes && !(inWeek + Had(monday) > wish.Lesson.Pupil.WeeklyMinutes))
            {
                Spread(
                    at + 1, new(weeks) { [monday] = inWeek },
                    (sofar.Minutes + minutes, sofar.Days + 1, sofar.Squares + (minutes * minutes), sofar.Driving + driving, sofar.Late + at), days);
            }
        }
    }

    private int Had(LocalDate monday) => (int)wish.Lesson.Pupil.Lessons
        .Where(lesson => lesson.CountsInWeek && Monday(lesson.During.Start.InZone(picture.Zone).Date) == monday).Sum(lesson => lesson.During.Duration.TotalMinutes - lesson.BreakMinutes);

    private int HadOn(LocalDate date) => (int)wish.Lesson.Pupil.Lessons
        .Where(lesson => lesson.CountsInWeek && lesson.During.Start.InZone(picture.Zone).Date == date).Sum(lesson => lesson.During.Duration.TotalMinutes - lesson.BreakMinutes);

    private static LocalDate Monday(LocalDate date) => date.PlusDays(1 - (int)date.DayOfWeek);
}
