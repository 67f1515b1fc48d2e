using System.Globalization;
using NodaTime;
using NodaTime.Text;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Events;

/// <summary>What changed.</summary>
internal enum DayChangeKind
{
    /// <summary>A day of an instructor: lessons, test days.</summary>
    Instructor,

    /// <summary>A day of a car.</summary>
    Car,

    /// <summary>The day of a pupil's test.</summary>
    Pupil,

    /// <summary>What holds on every day: rules, hours, time off, cars, instructors, areas.</summary>
    School,

    /// <summary>What pupils are like.</summary>
    Pupils,

    /// <summary>More than is told one by one.</summary>
    Everything,
}

/// <summary>A day that changed. It says which and how often, and nothing of what stands there: that is read by whoever may.</summary>
/// <param name="Kind">What changed.</param>
/// <param name="Id">Whose day: an instructor, a car, a pupil; null where it is not one day of somebody's.</param>
/// <param name="Day">The day in UTC; null where it is not one.</param>
/// <param name="Version">How often it has changed so far; null with everything.</param>
internal sealed record DayChange(DayChangeKind Kind, Guid? Id, LocalDate? Day, long? Version)
{
    private static readonly LocalDatePattern Date = LocalDatePattern.Iso;

    public static DayChange Everything { get; } = new(DayChangeKind.Everything, null, null, null);

    /// <summary>An instructor is told of their own days, and of what concerns all; the office that keeps the diary of all of it.</summary>
    public bool IsFor(Viewer viewer) => Kind switch
    {
        DayChangeKind.Instructor => viewer.KeepsDiaryOf(Id!.Value),
        DayChangeKind.Car or DayChangeKind.Pupil => viewer.KeepsDiary,
        DayChangeKind.School or DayChangeKind.Pupils or DayChangeKind.Everything => true,
    };

    /// <summary>What the database says (diary.tell_change): kind, subject, day, version, transaction, snapshot.</summary>
    public static (DayChange Change, ulong Transaction, ToldUpTo Over) Heard(string payload)
    {
        var parts = payload.Split(' ');
        return (
            new(Enum.Parse<DayChangeKind>(parts[0], ignoreCase: true), Guid.TryParse(parts[1], out var id) ? id : null, parts[2] == "-" ? null : Date.Parse(parts[2]).Value, Number(parts[3])),
            ulong.Parse(parts[4], NumberStyles.None, CultureInfo.InvariantCulture), ToldUpTo.OfSnapshot(parts[5]));
    }

    private static long Number(string text) => long.Parse(text, NumberStyles.None, CultureInfo.InvariantCulture);
}
