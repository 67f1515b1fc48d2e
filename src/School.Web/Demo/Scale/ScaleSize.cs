using System.Globalization;
using School.Web.Platform;

namespace School.Web.Demo.Scale;

/// <summary>
/// How a school of so many lessons is made up. Its present is the same from about ten thousand lessons on: thirty instructors with ten
/// pupils each, who have sixteen lessons ahead. What is left of the number is the past.
/// </summary>
internal sealed record ScaleSize(int Lessons)
{
    public const int Least = 500;
    public const int Most = 1_000_000;
    public const int ShortestCourse = 30;
    public const int LongestCourse = 60;
    public const int PresentEach = 10;
    public const int AheadEach = 16;
    public const int YearsBack = 10;

    private const int MostInstructors = 30;

    // Of a present pupil's lessons behind, those that every one of them has; up to four more make pupils differ.
    private const int BehindEach = 14;
    private const int BehindMore = 5;
    private const int LessonsOfInstructor = PresentEach * (AheadEach + BehindEach + (BehindMore / 2)) + 10;
    private const int UsualCourse = 45;

    public int Instructors => Math.Clamp(Lessons / LessonsOfInstructor, 1, MostInstructors);

    /// <summary>Those who taught here once.</summary>
    public int FormerInstructors => Instructors * 2 / 3;

    public int PresentPupils => Instructors * PresentEach;

    /// <summary>Lessons of each present pupil that lie behind.</summary>
    public int[] Behind()
    {
        var behind = Enumerable.Range(0, PresentPupils).Select(n => BehindEach + (n * 7 % BehindMore)).ToArray();
        var rest = Lessons - behind.Sum() - (PresentPupils * AheadEach);
        for (var n = 0; rest < ShortestCourse && n < rest; n++)
        {
            behind[n % behind.Length]++;
        }

        return behind;
    }

    /// <summary>How many lessons each finished course had; together with those of the present pupils they are all.</summary>
    public int[] Courses()
    {
        var rest = Lessons - Behind().Sum() - (PresentPupils * AheadEach);
        if (rest == 0)
        {
            return [];
        }

        var count = Math.Max((rest + LongestCourse - 1) / LongestCourse, (rest + (UsualCourse / 2)) / UsualCourse);
        var dice = new Dice(rest, count);
        var lengths = Enumerable.Range(0, count).Select(_ => ShortestCourse + dice.Next(LongestCourse - ShortestCourse + 1)).ToArray();
        for (var (off, n) = (rest - lengths.Sum(), 0); off != 0; n = (n + 1) % count)
        {
            var one = Math.Clamp(lengths[n] + Math.Sign(off), ShortestCourse, LongestCourse) - lengths[n];
            lengths[n] += one;
            off -= one;
        }

        return lengths;
    }

    /// <exception cref="CannotStartException">It is no number, or none of these bounds.</exception>
    public static ScaleSize Read(string? text) =>
        int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var lessons) && lessons is >= Least and <= Most
            ? new(lessons)
            : throw new CannotStartException(string.Create(
                CultureInfo.InvariantCulture, $"--scale is the number of lessons to make up, {Least} to {Most} in digits; it was “{text}”."));
}
