using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Settings;

/// <summary>
/// Saves what the school says about kinds of lesson, all or nothing. A kind with lessons ahead is taken off the list only where it is said
/// that these stay: nobody books one meanwhile, since a booking of that kind waits for the same lock.
/// </summary>
internal sealed class SaveLessonKinds(SchoolDb db, Audit audit, SchoolInfo school, IClock clock)
{
    public Task<Outcome<DiarySettings>> RunAsync(Viewer viewer, KindsRequest request, int? expected, CancellationToken cancel) =>
        db.InTransactionAsync<DiarySettings>(
            async cancel =>
            {
                if (Missing(request.Items ?? []) is { } missing)
                {
                    return missing;
                }

                await db.LockAsync([.. (request.Items ?? []).Select(kind => LessonLocks.Of(kind.Kind)).Order(StringComparer.Ordinal)], cancel);
                var taken = await db.Set<DiarySettings>().TakeAsync(DiarySettings.Only, expected, "setting", cancel);
                if (taken is not { Value: { } row })
                {
                    return taken;
                }

                // What a reader was told of lengths that are those of the booking rules goes on following them.
                var told = (request.Items ?? []).Select(kind => kind.ToRule())
                    .Select(rule => rule.Minutes.SequenceEqual(row.Rules.LessonMinutes) ? rule with { Minutes = [] } : rule).ToList();
                if (Wrong(told) is { } invalid)
                {
                    return invalid;
                }

                var rules = told.ToDictionary(rule => rule.Kind);
                var ending = rules.Values.Where(rule => !rule.Offered && row.Rules.KindOf(rule.Kind).Offered).Select(rule => rule.Kind).ToList();
                if (ending.Count > 0 && !request.LessonsAheadStay && await AheadAsync(row.Rules, ending, cancel) is { } ahead)
                {
                    return ahead;
                }

                var before = row.Rules;
                row.Rules = before with
                {
                    Kinds = [.. Enum.GetValues<LessonKind>().Select(kind => rules.GetValueOrDefault(kind) ?? before.KindOf(kind))],
                };
                if (string.Join("; ", row.Rules.Kinds.Select(rule => KindDifference.Of(before.KindOf(rule.Kind), rule)).Where(said => said.Length > 0)) is { Length: > 0 } difference)
                {
                    audit.Note(viewer, "kinds.change", null, $"Changed the kinds of lesson: {difference}.");
                }

                return row;
            },
            cancel);

    private static Refusal? Missing(IEnumerable<KindInput?> items)
    {
        var errors = new FieldErrors();
        foreach (var (at, item) in items.Index())
        {
            errors.When(item is null, $"{nameof(KindsRequest.Items)}[{at}]", "Say which kind of lesson.");
        }

        return errors.ToRefusal();
    }

    private static Refusal? Wrong(List<KindRule> kinds)
    {
        var errors = new FieldErrors();
        for (var i = 0; i < kinds.Count; i++)
        {
            errors.When(kinds.Take(i).Any(other => other.Kind == kinds[i].Kind), $"Items[{i}].Kind", "Name each kind only once.");
            foreach (var (field, sentence) in kinds[i].Validate())
            {
                errors.Add($"Items[{i}].{field}", sentence);
            }
        }

        return errors.When(kinds.Count == 0, nameof(KindsRequest.Items), "Name at least one kind of lesson.").ToRefusal();
    }

    /// <summary>The refusal that tells of what is booked of kinds that end; null where nothing is.</summary>
    private async Task<Refusal?> AheadAsync(DiaryRules rules, List<LessonKind> ending, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var booked = await db.Set<Lesson>().Where(l => ending.Contains(l.Kind) && l.State == LessonState.Booked && l.StartsAt > now)
            .GroupBy(l => l.Kind).Select(kind => new { Kind = kind.Key, Count = kind.Count(), First = kind.Min(l => l.StartsAt) }).ToListAsync(cancel);
        if (booked.Count == 0)
        {
            return null;
        }

        var facts = await school.GetAsync(cancel);
        var told = booked.OrderBy(kind => kind.Kind)
            .Select(kind => $"{rules.KindOf(kind.Kind).Name}: {Words.Count(kind.Count, "lesson")} ahead, the first on {facts.Moment(kind.First)}");
        return Refusal.Conflict(
            "kind_has_lessons", $"{string.Join("; ", told)}. Cancel them first, or say that they stay what they are. Nothing was saved.");
    }
}
