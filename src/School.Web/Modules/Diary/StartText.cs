using NodaTime;
using NodaTime.Text;

namespace School.Web.Modules.Diary;

/// <summary>A moment in an address or a hidden field.</summary>
internal static class StartText
{
    public static string Of(Instant moment) => InstantPattern.General.Format(moment);

    public static Instant? Read(string? text) => InstantPattern.General.Parse(text ?? "").TryGetValue(default, out var moment) ? moment : null;
}
