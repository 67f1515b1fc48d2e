using School.Core.Syllabus;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Shipped;

/// <summary>A skill that is shipped with other texts than the school's.</summary>
/// <param name="Skill">As it is shipped.</param>
/// <param name="Name">As the school calls it.</param>
/// <param name="Differs">Which texts differ; empty where the syllabus does not have the skill.</param>
/// <param name="Here">Whether the syllabus has it.</param>
/// <param name="ChangedHere">Whether the school has written something of its own into it since it began.</param>
internal sealed record ShippedSkill(Skill Skill, string Name, IReadOnlyList<string> Differs, bool Here, bool ChangedHere);

/// <summary>What this version of the service ships, beside what the school has made of what an earlier one shipped.</summary>
internal sealed class ShippedComparison(SyllabusBook book)
{
    public async Task<IReadOnlyList<ShippedSkill>> OfAsync(SyllabusEdition current, CancellationToken cancel)
    {
        var first = await book.FindAsync(1, cancel);
        return [.. SyllabusDefaults.GreatBritain().Skills.Select(skill => Compare(skill, current.Find(skill.Key), first?.Find(skill.Key))).OfType<ShippedSkill>()];
    }

    /// <summary>The change for <see cref="Editing.ChangeSyllabus"/>. Keys, and with them the levels of pupils, stay what they are.</summary>
    public static Outcome<SyllabusEdition> Take(SyllabusEdition edition, IEnumerable<string> keys)
    {
        var shipped = SyllabusDefaults.GreatBritain();
        foreach (var key in keys.Distinct(StringComparer.Ordinal))
        {
            if (shipped.Find(key) is not { } skill)
            {
                return Refusal.Rule("skill_not_shipped", $"No skill “{key}” comes with this version. Look at the list again.");
            }

            edition = edition.TakeTexts(skill, shipped.GroupOf(key)!.Name);
        }

        return edition;
    }

    private static ShippedSkill? Compare(Skill skill, Skill? here, Skill? first)
    {
        if (here is null)
        {
            return new(skill, skill.Name, [], false, false);
        }

        var differs = EditionDifference.TextsThatDiffer(here, skill.TextsFor(here));
        return differs.Count == 0 ? null : new(skill, here.Name, differs, true, first is null || EditionDifference.TextsThatDiffer(first.TextsFor(here), here).Count > 0);
    }
}
