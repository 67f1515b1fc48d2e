using NodaTime;
using NodaTime.Text;

namespace School.Web.Modules.Diary.Covers;

/// <summary>The address at which cover is asked for with what is known already.</summary>
internal static class CoverLink
{
    public static string ForInstructor(Guid id, Interval when, string? reason = null) => Of($"instructorId={id}", when, reason);

    public static string ForCar(Guid id, Interval when, string? reason = null) => Of($"carId={id}", when, reason);

    public static Instant? Read(string? text) => InstantPattern.General.Parse(text ?? "") is { Success: true, Value: var moment } ? moment : null;

    private static string Of(string who, Interval when, string? reason) =>
        $"/diary/covers?{who}&start={Text(when.Start)}&end={Text(when.End)}{(string.IsNullOrEmpty(reason) ? "" : $"&reason={Uri.EscapeDataString(reason)}")}";

    private static string Text(Instant moment) => InstantPattern.General.Format(moment);
}
