using NodaTime;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

internal static class LessonStarts
{
    private const int FirstYear = 2000;
    private const int LastYear = 2200;

    /// <summary>Before it there is no diary.</summary>
    public static readonly LocalDate FirstDate = new(FirstYear, 1, 1);

    /// <summary>After it there is none.</summary>
    public static readonly LocalDate LastDate = new(LastYear, 12, 31);

    private static readonly Duration Furthest = Duration.FromDays(800);

    /// <summary>A start that no rule could make sense of. What the rules say of sensible ones is theirs to say.</summary>
    public static FieldErrors WrongStart(this FieldErrors errors, Instant start, IClock clock)
    {
        var now = clock.GetCurrentInstant();
        return errors
            .When(start.ToUnixTimeTicks() % NodaConstants.TicksPerMinute != 0, "Start", "A lesson starts on a whole minute.")
            .When(start > now + Furthest || start < now - Furthest, "Start", "That is too far from today. Look at the year.");
    }

    /// <summary>A date far outside any diary, on which the calendar's own arithmetic would end.</summary>
    public static FieldErrors WrongYear(this FieldErrors errors, string field, LocalDate? date) =>
        errors.When(date?.Year is < FirstYear or > LastYear, field, $"Give a date between {FirstYear} and {LastYear}.");
}
