using NodaTime;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary;

internal static class LessonStarts
{
    private static readonly Duration Furthest = Duration.FromDays(800);

    /// <summary>A start that no rule could make sense of. What the rules say of sensible ones is theirs to say.</summary>
    public static FieldErrors WrongStart(this FieldErrors errors, Instant start, IClock clock)
    {
        var now = clock.GetCurrentInstant();
        return errors
            .When(start.ToUnixTimeTicks() % NodaConstants.TicksPerMinute != 0, "Start", "A lesson starts on a whole minute.")
            .When(start > now + Furthest || start < now - Furthest, "Start", "That is too far from today. Look at the year.");
    }
}
