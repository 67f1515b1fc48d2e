using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils;

/// <summary>Who opened as many pupils of others in one day of the last week as one may.</summary>
internal sealed class OpenedMany(SchoolDb db, SchoolInfo school, IClock clock) : INeedAttention
{
    public const string Kind = "many_by_reason";

    private static readonly Duration Back = Duration.FromDays(7);
    private static readonly AttentionHeading Heading = new(5, "Pupils opened by reason", "Look at the reasons");

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var (zone, from) = ((await school.GetAsync(cancel)).Zone, clock.GetCurrentInstant() - Back);
        var many = await db.Set<PupilAccess>().Where(a => a.At > from && a.NumberOn == null).GroupBy(a => new { a.PersonId, a.Until })
            .Where(day => day.Select(a => a.PupilId).Distinct().Count() >= PupilAccess.MostADay)
            .Select(day => new { day.Key.Until, Name = day.Max(a => a.ByName)!, First = day.Min(a => a.At) }).OrderByDescending(day => day.Until).ToListAsync(cancel);
        return many.ConvertAll(day => new AttentionItem(
            Kind, Heading, $"{day.Name} opened {PupilAccess.MostADay} pupils of others in one day, the most that one may. Ask what for.", "/pupils/opened", day.First.InZone(zone).Date)
        {
            Urgency = AttentionUrgency.Today,
        });
    }
}
