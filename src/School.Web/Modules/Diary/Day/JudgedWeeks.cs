using System.Collections.Concurrent;
using NodaTime;
using School.Core.Diary.Slots;

namespace School.Web.Modules.Diary.Day;

/// <summary>A lesson that was found impossible, as long as nothing changes.</summary>
internal sealed record JudgedLesson(Guid LessonId, Guid PupilId, Guid InstructorId, Instant StartsAt, SlotRefusal Refusal);

/// <summary>What a week was when it was judged: its own count of changes, and that of all that holds in every week.</summary>
internal readonly record struct WeekVersion(long Week, long Always);

/// <summary>
/// Remembers which lessons of a week, from Monday, cannot take place; one in a process. Nothing here is trusted before its version was
/// read anew.
/// </summary>
internal sealed class JudgedWeeks
{
    private readonly ConcurrentDictionary<LocalDate, (WeekVersion Version, IReadOnlyList<JudgedLesson> Impossible)> _weeks = new();

    public IReadOnlyList<JudgedLesson>? Find(LocalDate monday, WeekVersion version) =>
        _weeks.TryGetValue(monday, out var known) && known.Version == version ? known.Impossible : null;

    public void Keep(LocalDate monday, WeekVersion version, IReadOnlyList<JudgedLesson> impossible) => _weeks[monday] = (version, impossible);

    /// <summary>Weeks that are over are never asked for again.</summary>
    public void ForgetBefore(LocalDate monday)
    {
        foreach (var past in _weeks.Keys.Where(week => week < monday))
        {
            _weeks.TryRemove(past, out _);
        }
    }

    public void Forget() => _weeks.Clear();
}
