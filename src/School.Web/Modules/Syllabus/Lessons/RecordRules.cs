using School.Core.Syllabus;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>What a record may say.</summary>
internal sealed class RecordRules(SyllabusBook syllabus)
{
    /// <summary>The record as it would be kept. The minutes are the lesson's to judge.</summary>
    /// <param name="request">What was sent.</param>
    /// <param name="kept">The record that it replaces, if there is one: its own edition stays good for it.</param>
    /// <param name="cancel">Stops.</param>
    public async Task<Outcome<RecordContent>> ReadAsync(RecordRequest request, LessonRecord? kept, CancellationToken cancel)
    {
        var errors = new FieldErrors();
        var note = errors.ReadLines(nameof(request.Note), request.Note, LessonRecord.LongestText);
        var aim = errors.ReadLines(nameof(request.Aim), request.Aim, LessonRecord.LongestText);
        var privateNote = errors.ReadLines(nameof(request.PrivateNote), request.PrivateNote, LessonRecord.LongestText);
        errors.When(
            request.Miles is < 0 or > LessonRecord.MostMiles || request.Miles is { } miles && decimal.Round(miles, 1) != miles,
            nameof(request.Miles), $"Miles are between 0 and {LessonRecord.MostMiles}, to a tenth of a mile at most.");
        var given = request.Levels ?? [];
        errors.When(given.Any(level => level is not { Skill.Length: <= Skill.LongestKey } || !Enum.IsDefined(level.Level)), nameof(request.Levels), "Give each skill with its level.");
        errors.When(given.Count > SyllabusEdition.MostSkills, nameof(request.Levels), "Give each skill one level.");
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var levels = await LevelsAsync(given, kept, cancel);
        return levels.Ok
            ? new RecordContent(
                request.MinutesTaught, note, levels.Value.Edition, levels.Value.Levels, aim, privateNote, request.RouteKind,
                request.Miles is { } driven ? decimal.Round(driven, 1) : null, kept?.Reflection ?? "")
            : levels.Refusal;
    }

    private async Task<Outcome<(int Edition, IReadOnlyList<LevelGiven> Levels)>> LevelsAsync(IReadOnlyList<LevelRequest> given, LessonRecord? kept, CancellationToken cancel)
    {
        var current = await syllabus.CurrentAsync(cancel);
        var own = kept is null ? null : await syllabus.FindAsync(kept.Edition, cancel);
        var byKey = given.GroupBy(level => level.Skill!, StringComparer.Ordinal).ToDictionary(same => same.Key, same => same.ToList(), StringComparer.Ordinal);
        SyllabusEdition?[] may = [own, current];
        if (Array.Find(may, edition => edition is not null && byKey.Keys.All(key => edition.Find(key) is not null)) is not { } edition)
        {
            return await WhyNotAsync(byKey.Keys.First(key => current.Find(key) is null), current, cancel);
        }

        if (byKey.Values.FirstOrDefault(same => same.Count > 1) is { } twice)
        {
            return Refusal.Invalid(nameof(RecordRequest.Levels), $"“{edition.Find(twice[0].Skill!)!.Name}” is there twice. Give each skill one level.");
        }

        return (edition.Number, [.. edition.Skills.Where(skill => byKey.ContainsKey(skill.Key))
            .Select(skill => new LevelGiven { Skill = skill.Key, Level = byKey[skill.Key][0].Level })]);
    }

    private async Task<Refusal> WhyNotAsync(string key, SyllabusEdition current, CancellationToken cancel)
    {
        for (var number = current.Number - 1; number > 0; number--)
        {
            if ((await syllabus.FindAsync(number, cancel))?.Find(key) is { } skill)
            {
                return Refusal.Rule(
                    "skill_retired", $"“{skill.Name}” is no longer in the syllabus, so it cannot go into this record. Leave it out; earlier records keep theirs.");
            }
        }

        return Refusal.Rule("skill_unknown", $"The syllabus has no skill “{CleanText.Line(key)}”.");
    }
}
