using NodaTime;
using School.Core.Diary.Courses;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Search;

namespace School.Web.Modules.Diary.Courses;

/// <summary>Why there is no room for a course: a rule, or what was asked for.</summary>
internal sealed record CourseReason(string Code, string Sentence);

/// <summary>A change of what was asked for with which all of the course fits.</summary>
internal sealed record CourseCure(string Code, string Sentence, LocalDate From, LocalDate To, int MostMinutesADay)
{
    public const string LaterLastDay = "later_last_day";
    public const string MoreADay = "more_minutes_a_day";
    public const string LaterFirstDay = "later_first_day";
}

/// <summary>Looks for the smallest change with which a course that has no room would fit: a later last day, more hours a day, or as many days from a later one on.</summary>
internal static class CourseCures
{
    /// <summary>So many days later at most it looks for a first day; each is a plan of its own.</summary>
    private const int LatestShift = 28;

    private const int StepADay = 30;

    public static IReadOnlyList<CourseCure> Of(LoadedPicture loaded, CourseWish wish, CourseRequest ask, LocalDate last)
    {
        var cures = new List<CourseCure>();
        if (EarliestLast() is { } to)
        {
            Add(CourseCure.LaterLastDay, ask with { To = to });
        }

        for (var most = ask.MostMinutesADay + StepADay; most <= Lessons.Lesson.LongestMinutes; most += StepADay)
        {
            if (Fits(ask with { MostMinutesADay = most }))
            {
                Add(CourseCure.MoreADay, ask with { MostMinutesADay = most });
                break;
            }
        }

        for (var days = 1; days <= LatestShift && ask.To.PlusDays(days) <= last; days++)
        {
            var later = ask with { From = ask.From.PlusDays(days), To = ask.To.PlusDays(days) };
            if (Fits(later))
            {
                Add(CourseCure.LaterFirstDay, later);
                break;
            }
        }

        return cures;

        void Add(string code, CourseRequest other) => cures.Add(new(code, CourseWords.Cure(code, other), other.From, other.To, other.MostMinutesADay));

        bool Fits(CourseRequest other) =>
            CourseSearch.Plan(loaded.Picture, wish with { MostADay = other.MostMinutesADay, Lesson = wish.Lesson with { From = other.From, To = other.To } }, ask.InstructorId, loaded.Travel).Minutes >= ask.Minutes;

        // More days never make less room, so the first that will do is found by halving.
        LocalDate? EarliestLast()
        {
            var (low, high) = (1, Period.DaysBetween(ask.To, LocalDate.Min(last, ask.From.PlusDays(CourseRequest.LongestDays - 1))));
            if (high < low || !Fits(ask with { To = ask.To.PlusDays(high) }))
            {
                return null;
            }

            while (low < high)
            {
                var middle = (low + high) / 2;
                (low, high) = Fits(ask with { To = ask.To.PlusDays(middle) }) ? (low, middle) : (middle + 1, high);
            }

            return ask.To.PlusDays(high);
        }
    }
}
