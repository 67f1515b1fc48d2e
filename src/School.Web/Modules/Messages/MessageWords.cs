using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Messages;

internal static class MessageWords
{
    public static string Of(MessageState state) => state switch
    {
        MessageState.Waiting => "Waiting",
        MessageState.Sent => "Sent",
        MessageState.Withdrawn => "Withdrawn",
        MessageState.Failed => "Failed",
    };

    /// <summary>When it is due, or when it went.</summary>
    public static string When(SchoolFacts school, Message row) =>
        row.State == MessageState.Waiting ? $"due {Moment(school, row.DueAt)}" : Moment(school, row.ClosedAt ?? row.WrittenAt);

    /// <summary>“Thursday 14 January, 10:15”.</summary>
    public static string Moment(SchoolFacts school, Instant moment)
    {
        var local = moment.InZone(school.Zone);
        return $"{ScreenWords.Day(local.Date)}, {ScreenWords.Time(local.TimeOfDay, school.TwelveHourClock)}";
    }
}
