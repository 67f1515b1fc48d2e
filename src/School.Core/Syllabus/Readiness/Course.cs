using NodaTime;

namespace School.Core.Syllabus.Readiness;

/// <summary>Driving with a supervisor outside lessons.</summary>
/// <param name="On">The day.</param>
/// <param name="Minutes">Minutes at the wheel: 1 to 1440.</param>
public sealed record PracticeTime(LocalDate On, int Minutes);

/// <summary>Where a pupil stood at the end of a lesson.</summary>
/// <param name="On">The day of the lesson.</param>
/// <param name="LessonHours">Hours taught by then.</param>
/// <param name="CountedHours">The same with private practice up to that day, at its weight.</param>
/// <param name="Score">How far the levels of all skills that count had come, 0 to 1: the mean of level over <see cref="ReadinessTerms.Goal"/>, never
/// more than 1 a skill, an unmarked skill at 0. Null before the first mark.</param>
/// <param name="Marked">Whether this lesson marked a skill that counts.</param>
public readonly record struct CoursePoint(LocalDate On, double LessonHours, double CountedHours, double? Score, bool Marked)
{
    /// <summary>Whether every skill that counts stood at the goal.</summary>
    // Sums of quarters over at most a hundred skills miss 1 by far less, and one skill a level below by far more.
    public bool Ready => Score > 1 - 1e-6;
}

/// <summary>What a pupil has done so far.</summary>
/// <param name="Lessons">Taught lessons in the order of their days.</param>
/// <param name="Practice">Private practice, in any order.</param>
public sealed record Course(IReadOnlyList<TaughtLesson> Lessons, IReadOnlyList<PracticeTime> Practice)
{
    private const int MinutesOfDay = 1440;

    /// <summary>Hours taught.</summary>
    public double LessonHours => Lessons.Sum(lesson => lesson.Minutes) / 60.0;

    /// <summary>Hours of private practice, unweighted.</summary>
    public double PracticeHours => Practice.Sum(time => time.Minutes) / 60.0;

    /// <summary>The first so many lessons, and the practice up to the day of the last of them; for none, nothing.</summary>
    public Course First(int lessons) => lessons == 0
        ? new([], [])
        : new([.. Lessons.Take(lessons)], [.. Practice.Where(time => time.On <= Lessons[lessons - 1].On)]);

    /// <summary>The pupil after each lesson.</summary>
    /// <exception cref="ArgumentException">Lessons are out of order, a length is not 1 to 1440 minutes, a lesson marks a skill twice or with a level that is none.</exception>
    public IReadOnlyList<CoursePoint> Points(ReadinessTerms terms)
    {
        ArgumentNullException.ThrowIfNull(terms);
        Check();
        var practice = Practice.OrderBy(time => time.On).ToList();
        var levels = new Dictionary<string, int>(StringComparer.Ordinal);
        var points = new List<CoursePoint>(Lessons.Count);
        var (taught, practised, next) = (0.0, 0.0, 0);
        foreach (var lesson in Lessons)
        {
            taught += lesson.Minutes / 60.0;
            for (; next < practice.Count && practice[next].On <= lesson.On; next++)
            {
                practised += practice[next].Minutes / 60.0;
            }

            var marked = false;
            foreach (var mark in lesson.Marks.Where(mark => terms.Skills.Contains(mark.Skill)))
            {
                levels[mark.Skill] = Math.Min((int)mark.Level, (int)ReadinessTerms.Goal);
                marked = true;
            }

            double? score = levels.Count == 0 ? null : levels.Values.Sum() / (double)((int)ReadinessTerms.Goal * terms.Skills.Count);
            points.Add(new(lesson.On, taught, taught + (terms.PracticeWeight * practised), score, marked));
        }

        return points;
    }

    private void Check()
    {
        for (var i = 0; i < Lessons.Count; i++)
        {
            var lesson = Lessons[i];
            if (i > 0 && lesson.On < Lessons[i - 1].On)
            {
                throw new ArgumentException("Lessons must come in the order of their days.");
            }

            if (lesson.Minutes is < 1 or > MinutesOfDay)
            {
                throw new ArgumentException($"A lesson has 1 to {MinutesOfDay} minutes, not {lesson.Minutes}.");
            }

            if (lesson.Marks.Any(mark => !Enum.IsDefined(mark.Level)))
            {
                throw new ArgumentException("A level is one of the five.");
            }

            if (lesson.Marks.Select(mark => mark.Skill).Distinct(StringComparer.Ordinal).Count() != lesson.Marks.Count)
            {
                throw new ArgumentException("A lesson marks a skill at most once.");
            }
        }

        if (Practice.FirstOrDefault(time => time.Minutes is < 1 or > MinutesOfDay) is { } odd)
        {
            throw new ArgumentException($"Private practice has 1 to {MinutesOfDay} minutes, not {odd.Minutes}.");
        }
    }
}
