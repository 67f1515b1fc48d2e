using System.Globalization;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Courses;

/// <summary>A lesson of a course in the picture: its line, and the stretches of teaching between its breaks.</summary>
internal sealed record CourseBar(double Y, string Words, IReadOnlyList<(double X, double Width)> Stretches);

/// <summary>The days of a course as a drawing 340 wide: a line for each day, the hours of the clock across, breaks as gaps.</summary>
internal sealed record CoursePicture(int Height, IReadOnlyList<CourseBar> Bars, IReadOnlyList<(double X, string Words)> Hours)
{
    public const int Width = 340;
    public const int Left = 58;
    public const int Thickness = 14;

    private const int RowHeight = 24;
    private const int Right = 332;
    private const int ForHours = 20;

    public int Bottom => Height - ForHours;

    public static CoursePicture Of(IReadOnlyList<(Instant Start, CourseDay Day)> lessons, SchoolFacts school)
    {
        var from = lessons.Min(lesson => Clock(lesson.Start)) / 60;
        var to = (lessons.Max(lesson => Clock(lesson.Start) + Length(lesson)) + 59) / 60;
        var step = to - from > 8 || school.TwelveHourClock ? 2 : 1;
        return new(
            (lessons.Count * RowHeight) + ForHours,
            [.. lessons.Select((lesson, row) => new CourseBar(
                (row * RowHeight) + 4, ScreenWords.ShortDay(lesson.Day.Date), [.. Stretches(lesson).Select(part => Bar(Clock(lesson.Start), part))]))],
            [.. Enumerable.Range(0, ((to - from) / step) + 1).Select(i => from + (i * step)).Select(hour => (X(hour * 60), ScreenWords.Time(new LocalTime(hour % 24, 0), school.TwelveHourClock)))]);

        int Clock(Instant moment) => (int)(moment.InZone(school.Zone).TimeOfDay.NanosecondOfDay / NodaConstants.NanosecondsPerMinute);

        (double X, double Width) Bar(int start, (int From, int Until) part) => (X(start + part.From), Math.Round(X(start + part.Until) - X(start + part.From), 1));

        double X(int minute) => Math.Round(Left + ((minute - (from * 60)) / (double)((to - from) * 60) * (Right - Left)), 1);
    }

    /// <summary>A number as it stands in a drawing.</summary>
    public static string Text(double number) => number.ToString("0.#", CultureInfo.InvariantCulture);

    private static int Length((Instant Start, CourseDay Day) lesson) => (int)(lesson.Day.End - lesson.Start).TotalMinutes;

    /// <summary>Minutes from the start of the lesson.</summary>
    private static IEnumerable<(int From, int Until)> Stretches((Instant Start, CourseDay Day) lesson)
    {
        var at = 0;
        foreach (var rest in lesson.Day.Breaks)
        {
            yield return (at, rest.After);
            at = rest.After + rest.Minutes;
        }

        yield return (at, Length(lesson));
    }
}
