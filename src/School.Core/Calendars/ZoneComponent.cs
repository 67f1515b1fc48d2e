using System.Buffers;
using System.Globalization;
using NodaTime;
using NodaTime.Text;
using NodaTime.TimeZones;

namespace School.Core.Calendars;

/// <summary>
/// A VTIMEZONE (RFC 5545 section 3.6.5) that is right for the years asked for: two yearly rules where the zone keeps to them,
/// as Europe/London does, otherwise every change of offset by itself.
/// </summary>
internal static class ZoneComponent
{
    // A date falls on every weekday within eleven years, so that a yearly rule cannot hold by chance.
    private const int YearsToJudgeRule = 11;

    private static readonly OffsetPattern Whole = OffsetPattern.CreateWithInvariantCulture("+HHmm");

    private static readonly OffsetPattern Seconds = OffsetPattern.CreateWithInvariantCulture("+HHmmss");

    private static Made? last;

    private sealed record Made(DateTimeZone Zone, int FirstYear, int LastYear, byte[] Written);

    /// <summary>A change of offset.</summary>
    /// <param name="At">Local time just before the change, as RFC 5545 wants it.</param>
    /// <param name="From">Offset before.</param>
    /// <param name="After">The interval that begins.</param>
    private sealed record Onset(LocalDateTime At, Offset From, ZoneInterval After)
    {
        public Offset To => After.WallOffset;

        public bool IsForward => To > From;
    }

    /// <summary>The component for these years. A school has one zone, so the last one made is kept.</summary>
    public static byte[] Of(DateTimeZone zone, int firstYear, int lastYear)
    {
        if (last is not { } made || !ReferenceEquals(made.Zone, zone) || made.FirstYear != firstYear || made.LastYear != lastYear)
        {
            last = made = new(zone, firstYear, lastYear, Make(zone, firstYear, lastYear));
        }

        return made.Written;
    }

    private static byte[] Make(DateTimeZone zone, int firstYear, int lastYear)
    {
        var written = new ArrayBufferWriter<byte>();
        var lines = new ContentLines(written);
        lines.Whole("BEGIN:VTIMEZONE\r\n"u8);
        AddValue(ref lines, "TZID:"u8, zone.Id);
        var (from, to) = (firstYear - 1, Math.Max(lastYear + 1, firstYear + YearsToJudgeRule));
        var judged = Onsets(zone, from, to);
        var (forward, back) = (judged.FindAll(onset => onset.IsForward), judged.FindAll(onset => !onset.IsForward));
        if (YearlyRule(forward, to - from + 1) is { } forwardRule && YearlyRule(back, to - from + 1) is { } backRule)
        {
            AddObservance(ref lines, "DAYLIGHT", forward[0], forwardRule);
            AddObservance(ref lines, "STANDARD", back[0], backRule);
        }
        else
        {
            AddEveryOnset(ref lines, zone, firstYear - 1, lastYear + 1);
        }

        lines.Whole("END:VTIMEZONE\r\n"u8);
        lines.Flush();
        return written.WrittenSpan.ToArray();
    }

    private static void AddEveryOnset(ref ContentLines lines, DateTimeZone zone, int firstYear, int lastYear)
    {
        var begin = new LocalDateTime(firstYear, 1, 1, 0, 0);
        var already = zone.GetZoneInterval(begin.InZoneLeniently(zone).ToInstant());
        foreach (var onset in Onsets(zone, firstYear, lastYear).Prepend(new(begin, already.WallOffset, already)))
        {
            AddObservance(ref lines, onset.After.Savings > Offset.Zero ? "DAYLIGHT" : "STANDARD", onset);
        }
    }

    private static void AddObservance(ref ContentLines lines, string kind, Onset onset, string? rule = null)
    {
        AddValue(ref lines, "BEGIN:"u8, kind);
        lines.Put("DTSTART:"u8);
        lines.EndWithTime(onset.At.InUtc().ToInstant().ToUnixTimeSeconds(), utc: false);
        if (rule is not null)
        {
            AddValue(ref lines, "RRULE:"u8, rule);
        }

        AddValue(ref lines, "TZOFFSETFROM:"u8, Format(onset.From));
        AddValue(ref lines, "TZOFFSETTO:"u8, Format(onset.To));
        lines.TextLine("TZNAME:"u8, onset.After.Name);
        AddValue(ref lines, "END:"u8, kind);
    }

    private static void AddValue(ref ContentLines lines, ReadOnlySpan<byte> name, string value)
    {
        lines.Put(name);
        lines.PutValue(value);
        lines.End();
    }

    private static string Format(Offset offset) => (offset.Seconds % 60 == 0 ? Whole : Seconds).Format(offset);

    private static List<Onset> Onsets(DateTimeZone zone, int firstYear, int lastYear)
    {
        var span = new Interval(
            new LocalDateTime(firstYear, 1, 1, 0, 0).InZoneLeniently(zone).ToInstant(),
            new LocalDateTime(lastYear + 1, 1, 1, 0, 0).InZoneLeniently(zone).ToInstant());
        var intervals = zone.GetZoneIntervals(span, ZoneEqualityComparer.Options.MatchOffsetComponents).ToList();
        return [.. intervals.Zip(intervals.Skip(1), (before, after) =>
            new Onset(before.IsoLocalEnd, before.WallOffset, zone.GetZoneInterval(after.Start)))];
    }

    // The same weekday, counted from the same end of the same month, at the same time, once in each year.
    private static string? YearlyRule(List<Onset> onsets, int years)
    {
        var alike = onsets
            .Select(onset => (onset.At.Month, onset.At.DayOfWeek, onset.At.TimeOfDay, onset.From, onset.To))
            .Distinct().Count() == 1;
        var onceEachYear = onsets.Count == years && onsets.Select(onset => onset.At.Year).Distinct().Count() == years;
        if (!alike || !onceEachYear || Week(onsets) is not { } week)
        {
            return null;
        }

        var day = onsets[0].At.DayOfWeek.ToString()[..2].ToUpperInvariant();
        return string.Create(CultureInfo.InvariantCulture, $"FREQ=YEARLY;BYMONTH={onsets[0].At.Month};BYDAY={week}{day}");
    }

    private static int? Week(List<Onset> onsets)
    {
        var weeks = onsets.Select(onset => (onset.At.Day - 1) / 7 + 1).Distinct().ToList();
        var allLast = onsets.All(onset => onset.At.Date.PlusWeeks(1).Month != onset.At.Month);
        return weeks.Count == 1 ? weeks[0] : allLast ? -1 : null;
    }
}
