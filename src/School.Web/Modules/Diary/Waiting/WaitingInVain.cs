using Microsoft.EntityFrameworkCore;
using School.Core.Diary;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>Who waits for a kind of lesson that the school gives no longer.</summary>
internal sealed class WaitingInVain(SchoolDb db, PictureLoader pictures, PupilBook pupils, SchoolInfo school) : INeedAttention
{
    public const string Kind = "waiting_in_vain";

    private static readonly AttentionHeading Heading = new(60, "Waiting for what is no longer given", "Change it");

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var rules = await pictures.RulesAsync(cancel);
        var retired = Enum.GetValues<LessonKind>().Where(kind => !rules.KindOf(kind).Offered).ToArray();
        if (retired.Length == 0)
        {
            return [];
        }

        var entries = await db.Set<WaitingEntry>().AsNoTracking()
            .Where(w => w.State == WaitingState.Waiting && w.For == WaitingFor.AnyLesson && retired.Contains(w.Kind)).OrderBy(w => w.Since).ToListAsync(cancel);
        if (entries.Count == 0)
        {
            return [];
        }

        var (zone, cards) = ((await school.GetAsync(cancel)).Zone, await pupils.CardsAsync(entries.Select(w => w.PupilId), cancel));
        return
        [
            .. entries.Select(entry => new AttentionItem(
                Kind, Heading,
                $"{cards[entry.PupilId].Name} waits for {entry.WantedInside(rules)}, and the school gives that kind no longer: nothing is offered. Change what is waited for, or take it off the list.",
                $"/diary/waiting/{entry.Id}/change", entry.Since.InZone(zone).Date)
            {
                Urgency = AttentionUrgency.Soon,
            }),
        ];
    }
}
