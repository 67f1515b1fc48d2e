using NodaTime;
using School.Web.Modules.Diary.Events;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>For pages that stay open: what they show is drawn anew when it changes. Made before a page reads anything, so that nothing falls in between.</summary>
internal sealed class LivePages(LiveDays live)
{
    private readonly string? _from = live.Id;

    /// <summary>A page whose matter any change may touch.</summary>
    public LivePage OfAll(string words) => new(words, _from);

    /// <summary>A page of days of everybody, or of one instructor.</summary>
    public LivePage Of(string words, DateTimeZone zone, LocalDate first, LocalDate last, Guid? instructorId = null) => new(words, _from)
    {
        // Changes are counted by days in UTC.
        Days = (zone.AtStartOfDay(first).ToInstant().InUtc().Date, (zone.AtStartOfDay(last.PlusDays(1)).ToInstant() - Duration.Epsilon).InUtc().Date),
        Of = instructorId,
    };
}
