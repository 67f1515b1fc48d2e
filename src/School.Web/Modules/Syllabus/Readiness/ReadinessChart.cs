using System.Globalization;
using School.Core.Syllabus.Readiness;

namespace School.Web.Modules.Syllabus.Readiness;

/// <summary>Levels over the hours taught, and the fan in which the forecast lies, as a drawing 340 wide and 200 high.</summary>
internal sealed record ReadinessChart(string Line, string Fan, string Middle, IReadOnlyList<(double X, string Words)> Hours)
{
    public const double Left = 34;
    public const double Right = 330;
    public const double Top = 14;
    public const double Bottom = 172;

    // Marks along the axis are this many hours apart, the first that leaves no more than six of them.
    private static readonly int[] Steps = [2, 5, 10, 20, 50, 100, 200, 500];

    public static ReadinessChart Of(IReadOnlyList<CoursePoint> points, ReadinessForecast forecast)
    {
        var end = Math.Max(10, forecast.Taught + forecast.LessonHours.High);
        var step = Steps.FirstOrDefault(hours => end / hours <= 6, 1000);
        var (now, score) = (forecast.Taught, forecast.Score ?? 0);
        return new(
            string.Join(' ', points.Where(point => point.Score is not null).Select(point => At(point.LessonHours, point.Score!.Value)).Prepend(At(0, 0))),
            $"{At(now, score)} {At(now + forecast.LessonHours.Low, 1)} {At(now + forecast.LessonHours.High, 1)}",
            $"{At(now, score)} {At(now + forecast.LessonHours.Median, 1)}",
            [.. Enumerable.Range(0, (int)(end / step) + 1).Select(i => (X(i * step), $"{i * step}"))]);

        string At(double hours, double share) => string.Create(CultureInfo.InvariantCulture, $"{X(hours):0.#},{Bottom - (share * (Bottom - Top)):0.#}");

        double X(double hours) => Math.Round(Left + (hours / end * (Right - Left)), 1);
    }
}
